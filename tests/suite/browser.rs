//! The page of a class in a real browser (Chromium without a window): its script runs,
//! orders and narrows.

use super::class::large;
use crate::support::tools::tool;
use std::fs;

/// What a person would do, and what is then to be seen: written into the page by a
/// script of the test's own, which runs after the page's.
const HAND: &str = r#"<script>
addEventListener("load", () => {
  const table = document.getElementById("coupons");
  const seen = () => [...table.tBodies[0].rows].filter((row) => !row.hidden).map((row) => row.cells[0].textContent);
  const say = (what) => document.body.append(Object.assign(document.createElement("pre"), { className: "told", textContent: what }));
  const title = (text) => [...table.tHead.querySelectorAll("button")].find((button) => button.textContent === text);
  say("all " + document.querySelector(".tools span").textContent);
  title("coupon").click(); title("coupon").click();
  say("last first " + seen().slice(0, 2).join(" "));
  const find = document.querySelector(".tools input");
  find.value = "w-03"; find.dispatchEvent(new Event("input"));
  say("narrowed " + seen().length + " " + document.querySelector(".tools span").textContent);
  const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  say("sideways " + (wide > 0));
});
</script>"#;

#[test]
fn a_class_is_ordered_and_narrowed_in_a_browser() {
    let (class, page) = large(60);
    let path = class.path("seen.html");
    fs::write(&path, page.replace("</body>", &format!("{HAND}</body>"))).unwrap();
    let Some(mut browser) = tool("chromium") else {
        return;
    };
    let profile = format!("--user-data-dir={}", class.path("browser").display());
    let output = browser
        // As the superuser, in a machine of its own, there is no other way.
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--dump-dom",
            &profile,
        ])
        .arg(format!("file://{}", path.display()))
        .output()
        .unwrap();
    let dom = String::from_utf8_lossy(&output.stdout);
    let told: Vec<&str> = dom
        .split("<pre class=\"told\">")
        .skip(1)
        .filter_map(|rest| rest.split("</pre>").next())
        .collect();
    // Coupons n with n % 30 = 3 are welder W-03's: 3 and 33.
    assert_eq!(
        told,
        [
            "all 60 of 60 coupons",
            "last first HR-060 HR-059",
            "narrowed 2 2 of 60 coupons",
            "sideways false",
        ],
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
