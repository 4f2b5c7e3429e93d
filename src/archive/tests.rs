use super::*;
use crate::record::{Coupon, Kind};
use std::fs;
use tempfile::TempDir;

fn asked() -> Asked {
    Asked {
        kind: Kind::Section,
        coupon: Coupon::default(),
        scale: "rule-mm".to_owned(),
        rule_class: "II".to_owned(),
        card_line_mm: None,
        limits: None,
    }
}

fn record() -> Record {
    serde_json::from_value(serde_json::json!({
        "record": 1, "tool": {"name": "toeline", "version": "0.0.1"}, "kind": "section",
        "coupon": {}, "photo": {"file": "a.jpg", "sha256": "", "width_px": 0, "height_px": 0},
        "status": "refused", "reasons": [], "measurements": {}, "findings": [],
        "outlines_px": {}, "provenance": {"settings": {}, "random_seed": 0,
        "corrections": [], "timings_ms": {}},
    }))
    .unwrap()
}

fn file(archive: &mut Archive, coupon: &str, original: &[u8], reason: &str) -> Filed {
    archive
        .file(&Filing {
            coupon,
            photo: "a.jpg",
            original,
            asked: &asked(),
            key: reason,
            reason,
            record: &record(),
            picture: Some(b"drawn"),
            report: "<p>report",
        })
        .unwrap()
}

/// An archive of two coupons with three revisions, closed.
pub(super) fn filled() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let mut archive = Archive::open_to_write(folder.path()).unwrap();
    let coupons = ["HR-01", "HR-02"].map(|id| (id.to_owned(), CouponFacts::default()));
    archive.declare(&coupons).unwrap();
    file(&mut archive, "HR-01", b"one", "first");
    file(&mut archive, "HR-02", b"two", "first");
    file(&mut archive, "HR-01", b"one", "again");
    archive.close().unwrap();
    folder
}

fn faults(folder: &Path) -> Vec<String> {
    let verified = verify(folder, None).unwrap();
    verified.faults.into_iter().map(|f| f.what).collect()
}

#[test]
fn what_is_filed_is_found_and_nothing_is_overwritten() {
    let folder = filled();
    let archive = Archive::open(folder.path()).unwrap();
    assert!(archive.warnings().is_empty());
    let coupons = archive.coupons().unwrap();
    assert_eq!(coupons.len(), 2);
    let photograph = &coupons[0].photographs[0];
    assert_eq!(photograph.earlier[0].revision.reason, "first");
    assert_eq!(photograph.latest.revision.reason, "again");
    let found = archive.latest(&sha256(b"one")).unwrap().unwrap();
    assert_eq!(found, photograph.latest);
    assert_eq!(archive.latest(&sha256(b"three")).unwrap(), None);
    assert_eq!(archive.record(&found.revision).unwrap(), record());
    assert_eq!(archive.head().unwrap().seq, 5);
    let unknown = archive.coupon_view("HR-03").unwrap_err();
    assert!(matches!(unknown, ArchiveError::NoCoupon(_)));
}

#[test]
fn what_the_sheet_says_is_entered_only_when_it_changes() {
    let folder = filled();
    let mut archive = Archive::open_to_write(folder.path()).unwrap();
    let mut sheet = vec![("HR-01".to_owned(), CouponFacts::default())];
    assert_eq!(archive.declare(&sheet).unwrap(), 0);
    let facts = CouponFacts {
        notes: None,
        process: Some("135".to_owned()),
        ..CouponFacts::default()
    };
    sheet[0].1 = facts.clone();
    assert_eq!(archive.declare(&sheet).unwrap(), 1);
    assert_eq!(archive.facts("HR-01").unwrap(), Some(facts));
    archive.close().unwrap();
    assert!(faults(folder.path()).is_empty());
}

#[test]
fn a_photograph_filed_for_another_coupon_goes_over_to_it() {
    let folder = filled();
    let mut archive = Archive::open_to_write(folder.path()).unwrap();
    file(&mut archive, "HR-02", b"one", "the sheet was put right");
    let coupons = archive.coupons().unwrap();
    assert!(coupons[0].photographs.is_empty());
    assert_eq!(coupons[1].photographs.len(), 2);
    assert_eq!(coupons[1].photographs[0].earlier.len(), 2);
}

#[test]
fn verify_is_content_with_what_was_written_and_leaves_it_alone() {
    let folder = filled();
    let before = names(folder.path());
    let verified = verify(folder.path(), None).unwrap();
    assert_eq!((verified.faults, verified.leftovers), (vec![], vec![]));
    // Two photographs; record, picture and report are the same bytes each time.
    assert_eq!((verified.files, verified.head.seq), (5, 5));
    assert_eq!(names(folder.path()), before);
    let noted = verify(folder.path(), Some(&verified.head.hash)).unwrap();
    assert!(noted.faults.is_empty());
    let noted = verify(folder.path(), Some(&"0".repeat(64))).unwrap();
    assert!(noted.faults[0].what.contains("noted head"));
}

fn names(folder: &Path) -> Vec<String> {
    store::names(folder).unwrap()
}

#[test]
fn what_is_missing_or_added_is_named() {
    let folder = filled();
    let original = format!("originals/{}.jpg", sha256(b"two"));
    fs::remove_file(folder.path().join(&original)).unwrap();
    fs::write(folder.path().join("pictures/more.jpg"), "x").unwrap();
    fs::write(folder.path().join("reports/x.html.part"), "x").unwrap();
    fs::write(folder.path().join("notes.txt"), "x").unwrap();
    let faults = faults(folder.path());
    assert_eq!(faults.len(), 4, "{faults:?}");
    assert!(faults[0].contains(&original) && faults[0].contains("HR-02"));
    for name in ["pictures/more.jpg", "reports/x.html.part", "notes.txt"] {
        assert!(faults.iter().any(|f| f.contains(name)), "{faults:?}");
    }
}

#[test]
fn a_row_changed_with_its_seal_made_to_fit_is_found_by_the_chain() {
    let folder = filled();
    let path = folder.path().join(seal::CATALOGUE);
    for (change, word) in [
        (
            "DROP TRIGGER entry_is_kept; UPDATE entry SET body = replace(body, 'HR-02', 'HR-03')",
            "was changed",
        ),
        (
            "DROP TRIGGER entry_is_not_removed; PRAGMA foreign_keys = OFF; DELETE FROM entry WHERE seq = 3",
            "taken out",
        ),
        ("UPDATE revision SET key = 'x' WHERE seq = 4", "do not say"),
        ("DELETE FROM file WHERE seq = 5", "do not say"),
    ] {
        let before = fs::read(&path).unwrap();
        let connection = rusqlite::Connection::open(&path).unwrap();
        connection.execute_batch(change).unwrap();
        connection.close().unwrap();
        seal::set(folder.path()).unwrap();
        let found = faults(folder.path());
        assert!(
            found.iter().any(|f| f.contains(word)),
            "{change}: {found:?}"
        );
        let refused = Archive::open_to_write(folder.path()).err().unwrap();
        assert!(matches!(refused, ArchiveError::Changed(_)), "{refused}");
        fs::write(&path, before).unwrap();
        seal::set(folder.path()).unwrap();
        assert!(faults(folder.path()).is_empty());
    }
}

#[test]
fn what_an_interrupted_run_left_is_named_and_then_cleared() {
    let folder = filled();
    // As if killed between the files and the entry.
    seal::break_open(folder.path()).unwrap();
    let store = Store::of(folder.path());
    let stray = store.put(Role::Original, b"three", "jpg").unwrap();
    fs::write(folder.path().join("records/x.json.part"), "half").unwrap();
    let verified = verify(folder.path(), None).unwrap();
    assert!(verified.faults.is_empty(), "{:?}", verified.faults);
    assert_eq!(verified.leftovers.len(), 3, "{:?}", verified.leftovers);
    assert!(verified.leftovers[1].contains(&stray.place()));

    Archive::open_to_write(folder.path())
        .unwrap()
        .close()
        .unwrap();
    let verified = verify(folder.path(), None).unwrap();
    assert_eq!((verified.faults, verified.leftovers), (vec![], vec![]));
    assert!(!store.path(&stray).exists());
}

#[test]
fn evidence_is_not_cleared_on_a_guess() {
    let folder = filled();
    let store = Store::of(folder.path());
    for n in 0..9_u8 {
        store.put(Role::Original, &[n], "jpg").unwrap();
    }
    seal::break_open(folder.path()).unwrap();
    let refused = Archive::open_to_write(folder.path()).err().unwrap();
    assert!(refused.to_string().contains("9 files"), "{refused}");
    assert_eq!(store.places().unwrap().len(), 5 + 9);

    // Without its catalogue an archive is not begun anew over its files.
    fs::remove_file(folder.path().join(seal::CATALOGUE)).unwrap();
    for error in [
        Archive::open_to_write(folder.path()).err().unwrap(),
        Archive::open(folder.path()).err().unwrap(),
        verify(folder.path(), None).unwrap_err(),
    ] {
        assert!(
            matches!(error, ArchiveError::CatalogueMissing(_)),
            "{error}"
        );
    }
}

#[test]
fn a_folder_with_something_else_in_it_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("bread.txt"), "milk").unwrap();
    let error = Archive::open_to_write(folder.path()).err().unwrap();
    assert!(matches!(error, ArchiveError::Foreign(_)), "{error}");
    assert_eq!(names(folder.path()), ["bread.txt"]);
    let error = Archive::open(folder.path()).err().unwrap();
    assert!(matches!(error, ArchiveError::None(_)), "{error}");
}

#[test]
fn an_archive_of_version_1_made_by_hand_opens() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path();
    for role in ["originals", "records", "pictures", "reports"] {
        fs::create_dir(path.join(role)).unwrap();
    }
    // Tables and entries as version 1 wrote them; this text stays as it is.
    let connection = rusqlite::Connection::open(path.join("catalogue.sqlite")).unwrap();
    connection
        .execute_batch(
            "CREATE TABLE entry (seq INTEGER PRIMARY KEY CHECK (seq >= 1), previous TEXT NOT NULL,
                 hash TEXT NOT NULL UNIQUE, body TEXT NOT NULL) STRICT;
             CREATE TABLE coupon (id TEXT PRIMARY KEY,
                 seq INTEGER NOT NULL REFERENCES entry (seq)) STRICT, WITHOUT ROWID;
             CREATE TABLE revision (seq INTEGER PRIMARY KEY REFERENCES entry (seq),
                 coupon TEXT NOT NULL REFERENCES coupon (id), photograph TEXT NOT NULL,
                 key TEXT NOT NULL) STRICT;
             CREATE TABLE file (seq INTEGER NOT NULL REFERENCES revision (seq),
                 place TEXT NOT NULL, bytes INTEGER NOT NULL,
                 PRIMARY KEY (seq, place)) STRICT, WITHOUT ROWID;
             PRAGMA user_version = 1; PRAGMA application_id = 1414481228;",
        )
        .unwrap();
    let original = sha256(b"one");
    fs::write(path.join(format!("originals/{original}.jpg")), b"one").unwrap();
    let bodies = [
        r#"{"entry":"coupon","at":"2026-03-14T09:26:53Z","coupon":"HR-01","facts":{"welder":"W7","date":"2026-03-13"}}"#.to_owned(),
        format!(
            r#"{{"entry":"revision","at":"2026-03-14T09:27:02Z","coupon":"HR-01","photo":"a.jpg","asked":{{"kind":"section","coupon":{{"id":"HR-01","leg_mm":6.0}},"scale":"rule-mm","rule_class":"II"}},"key":"k","tool":{{"name":"toeline","version":"0.1.0"}},"reason":"first measured","status":"refused","files":[{{"role":"original","sha256":"{original}","ending":"jpg","bytes":3}}]}}"#
        ),
    ];
    let mut previous = "0".repeat(64);
    for (body, seq) in bodies.iter().zip(1..) {
        let hash = sha256(format!("{previous}\n{body}").as_bytes());
        connection
            .execute(
                "INSERT INTO entry VALUES (?1, ?2, ?3, ?4)",
                rusqlite::params![seq, previous, hash, body],
            )
            .unwrap();
        previous = hash;
    }
    connection
        .execute_batch(&format!(
            "INSERT INTO coupon VALUES ('HR-01', 1);
             INSERT INTO revision VALUES (2, 'HR-01', '{original}', 'k');
             INSERT INTO file VALUES (2, 'originals/{original}.jpg', 3);"
        ))
        .unwrap();
    connection.close().unwrap();

    let mut archive = Archive::open_to_write(path).unwrap();
    file(&mut archive, "HR-01", b"one", "again");
    archive.close().unwrap();
    assert!(faults(path).is_empty(), "{:?}", faults(path));
    let archive = Archive::open(path).unwrap();
    let coupon = archive.coupon_view("HR-01").unwrap();
    assert_eq!(coupon.facts.welder.as_deref(), Some("W7"));
    let photograph = &coupon.photographs[0];
    assert_eq!(
        photograph.earlier[0].revision.asked.coupon.leg_mm,
        Some(6.0)
    );
    assert_eq!(photograph.latest.revision.reason, "again");
}

#[test]
fn a_catalogue_of_a_later_version_is_refused_and_left_alone() {
    let folder = filled();
    let path = folder.path().join(seal::CATALOGUE);
    let connection = rusqlite::Connection::open(&path).unwrap();
    connection.pragma_update(None, "user_version", 99).unwrap();
    connection.close().unwrap();
    seal::set(folder.path()).unwrap();
    let before = fs::read(&path).unwrap();
    for error in [
        Archive::open(folder.path()).err().unwrap(),
        verify(folder.path(), None).unwrap_err(),
        Archive::open_to_write(folder.path()).err().unwrap(),
    ] {
        assert!(error.to_string().contains("version 99"), "{error}");
    }
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn one_writer_at_a_time() {
    let folder = filled();
    let writer = Archive::open_to_write(folder.path()).unwrap();
    for error in [
        Archive::open_to_write(folder.path()).err().unwrap(),
        Archive::open(folder.path()).err().unwrap(),
        verify(folder.path(), None).unwrap_err(),
    ] {
        assert!(error.to_string().contains("in use"), "{error}");
    }
    writer.close().unwrap();
    assert!(faults(folder.path()).is_empty());
}

#[test]
fn one_flipped_bit_anywhere_in_the_catalogue_is_found() {
    let folder = filled();
    for name in [seal::CATALOGUE, seal::NAME] {
        let path = folder.path().join(name);
        let whole = fs::read(&path).unwrap();
        // Spread over the file, odd so that every bit of a byte comes up.
        for n in 0..61 {
            let bit = n * (whole.len() * 8 - 1) / 60;
            let mut flipped = whole.clone();
            flipped[bit / 8] ^= 1 << (bit % 8);
            fs::write(&path, &flipped).unwrap();
            let found = verify(folder.path(), None);
            assert!(
                found.is_err() || !found.unwrap().faults.is_empty(),
                "{name}: bit {bit}"
            );
        }
        fs::write(&path, &whole).unwrap();
    }
    assert!(faults(folder.path()).is_empty());
}
