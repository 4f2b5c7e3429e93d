use crate::support::coupon::{FAR, NEAR, refused};
use image::{ImageFormat, RgbImage, load_from_memory_with_format};
use toeline::report::{annotate, html};

fn decode(jpeg: &[u8]) -> RgbImage {
    load_from_memory_with_format(jpeg, ImageFormat::Jpeg)
        .unwrap()
        .into_rgb8()
}

/// Writes what a person should look at when the environment names a folder:
/// `TOELINE_LOOK=folder cargo test pages_to_look_at`.
#[test]
fn pages_to_look_at() {
    let mut pages = 0;
    for (name, scene, profile) in [
        ("near", NEAR, "aws-d1.1-macroetch-mm"),
        ("far", FAR, "iso5817-c"),
    ] {
        let record = scene.record(profile);
        let picture = annotate(&scene.picture(), scene.width, scene.height, &record).unwrap();
        let page = html(&record, &picture);
        if let Some(folder) = std::env::var_os("TOELINE_LOOK") {
            let path = std::path::PathBuf::from(folder).join(name);
            std::fs::write(path.with_extension("jpg"), &picture).unwrap();
            std::fs::write(path.with_extension("html"), &page).unwrap();
        }
        assert!(page.contains("HR-07"));
        pages += 1;
    }
    let page = html(&refused(), &[]);
    if let Some(folder) = std::env::var_os("TOELINE_LOOK") {
        let path = std::path::PathBuf::from(folder).join("refused.html");
        std::fs::write(path, &page).unwrap();
    }
    assert_eq!(pages, 2);
}
