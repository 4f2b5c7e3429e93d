//! The house rules that a reviewer would otherwise have to keep in mind:
//! imports run one way, outside crates stay behind their own files, files stay
//! short, the manifest stays lean.

use std::path::{Path, PathBuf};

/// Where a file belongs, and which crate paths it may name.
struct Room {
    name: &'static str,
    /// Modules it may reach into at any depth.
    whole: &'static [&'static str],
    /// Modules of which it may name only what stands at their root.
    root_only: &'static [&'static str],
}

const ROOMS: &[Room] = &[
    Room {
        name: "base",
        whole: &[],
        root_only: &[],
    },
    Room {
        name: "record",
        whole: &["base"],
        root_only: &[],
    },
    Room {
        name: "photo",
        whole: &["base", "record"],
        root_only: &[],
    },
    Room {
        name: "scale",
        whole: &["base", "record"],
        root_only: &["photo"],
    },
    Room {
        name: "section",
        whole: &["base", "record"],
        root_only: &["photo", "scale"],
    },
    Room {
        name: "fracture",
        whole: &["base", "record"],
        root_only: &["photo", "scale"],
    },
    Room {
        name: "limits",
        whole: &["base", "record"],
        root_only: &[],
    },
    Room {
        name: "report",
        whole: &["base", "record"],
        root_only: &[],
    },
    Room {
        name: "cardprint",
        whole: &["base"],
        root_only: &["scale"],
    },
    Room {
        name: "pipeline",
        whole: &["base", "record"],
        root_only: &["photo", "scale", "section", "fracture", "limits", "report"],
    },
    Room {
        name: "archive",
        whole: &["base", "record"],
        root_only: &[],
    },
    Room {
        name: "cohort",
        whole: &["base", "record"],
        root_only: &["pipeline", "report", "archive"],
    },
    Room {
        name: "cli",
        whole: &["base", "record"],
        root_only: &[
            "pipeline",
            "report",
            "archive",
            "cohort",
            "cardprint",
            "limits",
            "scale",
            "photo",
        ],
    },
];

/// What of an earlier stage the command line may name: names of profiles, how
/// a scale is asked for, how large a photograph may be.
const CLI_MAY: &[&str] = &[
    "limits::Profile",
    "limits::LimitsError",
    "scale::Source",
    "scale::Request",
    "photo::Limits",
];

/// Longest file, lines of code before its tests.
const LONGEST: usize = 500;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Every file under `folder` whose name ends with `ending`.
fn files(folder: &Path, ending: &str) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(folder) = open.pop() {
        let Ok(entries) = std::fs::read_dir(&folder) else {
            continue;
        };
        for entry in entries {
            let path = entry.expect("a readable folder").path();
            if path.is_dir() {
                open.push(path);
            } else if path.to_string_lossy().ends_with(ending) {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// (path below src with `/`, code before the file's own tests) of every source.
fn sources() -> Vec<(String, String)> {
    let src = root().join("src");
    let found: Vec<(String, String)> = files(&src, ".rs")
        .into_iter()
        .map(|path| {
            let name = path
                .strip_prefix(&src)
                .expect("under src")
                .to_string_lossy()
                .replace('\\', "/");
            (
                name,
                code(&std::fs::read_to_string(&path).expect("a source file")),
            )
        })
        .filter(|(name, _)| !name.ends_with("tests.rs"))
        .collect();
    assert!(found.len() > 20, "the sources were not found");
    found
}

/// The text before the first test module, without comments.
fn code(text: &str) -> String {
    let text = text
        .split("#[cfg(test)]\nmod tests {")
        .next()
        .unwrap_or_default();
    text.lines()
        .map(|line| match line.trim_start().starts_with("//") {
            true => "",
            false => line.split(" // ").next().unwrap_or_default(),
        })
        .collect::<Vec<_>>()
        .join("\n")
}

/// All paths below the crate root that the code names, `use` trees spelt out.
fn crate_paths(code: &str) -> Vec<String> {
    let mut found = Vec::new();
    for (at, _) in code.match_indices("crate::") {
        if at > 0 && code[..at].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '$') {
            continue;
        }
        expand("", &code[at + "crate::".len()..], &mut found);
    }
    found
}

/// Reads one path or tree from the start of `text`; returns how much it read.
fn expand(prefix: &str, text: &str, found: &mut Vec<String>) -> usize {
    let space = text.len() - text.trim_start().len();
    let rest = &text[space..];
    let name: String = rest
        .chars()
        .take_while(|c| c.is_alphanumeric() || *c == '_' || *c == '*')
        .collect();
    let mut at = space + name.len();
    let path = match (prefix.is_empty(), name.is_empty()) {
        (true, _) => name,
        (false, true) => prefix.to_owned(),
        (false, false) => format!("{prefix}::{name}"),
    };
    if text[at..].starts_with("::") && !text[at..].starts_with("::<") {
        return at + 2 + expand(&path, &text[at + 2..], found);
    }
    if text[at..].starts_with('{') {
        at += 1;
        while let Some(next) = text[at..].trim_start().chars().next() {
            if next == '}' {
                at += text[at..].find('}').expect("just seen") + 1;
                break;
            }
            if next == ',' {
                at += text[at..].find(',').expect("just seen") + 1;
                continue;
            }
            let read = expand(&path, &text[at..], found);
            if read == 0 {
                break;
            }
            at += read;
            // `as` names and the like up to the next comma or brace.
            at += text[at..].find([',', '}']).unwrap_or(0);
        }
        return at;
    }
    found.push(path);
    at
}

/// What is wrong with the imports of one file.
fn import_faults(file: &str, code: &str) -> Vec<String> {
    let room = file.split(['/', '.']).next().unwrap_or_default();
    if matches!(room, "lib" | "main") {
        return Vec::new();
    }
    let Some(rules) = ROOMS.iter().find(|r| r.name == room) else {
        return vec![format!(
            "{file}: no rule for the module `{room}`; add one to ROOMS"
        )];
    };
    let mut faults = Vec::new();
    for path in crate_paths(code) {
        let parts: Vec<&str> = path.split("::").collect();
        let target = parts[0];
        if target == room || rules.whole.contains(&target) {
            continue;
        }
        // A root path is `stage::Item`, `stage::function` or
        // `stage::Type::method`: a lower-case second part followed by more is
        // an inner file.
        let inner = parts.len() > 2 && parts[1].chars().all(|c| c.is_lowercase() || c == '_');
        if !rules.root_only.contains(&target) {
            faults.push(format!("{file}: `{room}` may not know `crate::{path}`"));
        } else if inner {
            faults.push(format!(
                "{file}: `crate::{path}` reaches into an inner file"
            ));
        } else if room == "cli"
            && matches!(target, "limits" | "scale" | "photo")
            && parts.len() > 1
            && !CLI_MAY
                .iter()
                .any(|may| path == *may || path.starts_with(&format!("{may}::")))
        {
            faults.push(format!(
                "{file}: the command line may not name `crate::{path}`"
            ));
        }
    }
    faults
}

/// Whether the code names the outside crate `name`.
fn names_crate(code: &str, name: &str) -> bool {
    let path = format!("{name}::");
    code.match_indices(&path).any(|(at, _)| {
        let before = &code[..at];
        !before.ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == ':')
            || (before.ends_with("::") && before.trim_end_matches(':').ends_with([' ', '(', '\n']))
    })
}

/// Outside crates that stay in their own files: (crate, where it may be named).
const KEPT_APART: &[(&str, &[&str])] = &[
    ("image", &["photo/decode.rs", "report/"]),
    ("exif", &["photo/"]),
    ("clap", &["cli/"]),
    ("maud", &["report/", "archive/export/", "cohort/class/"]),
    (
        "rusqlite",
        &[
            "archive/sqlite.rs",
            "archive/migrations.rs",
            "archive/error.rs",
        ],
    ),
    ("zip", &["archive/export/", "archive/error.rs"]),
    (
        "csv",
        &["cohort/sheet/", "cohort/class/", "archive/export/"],
    ),
    ("tiny_skia", &["report/"]),
    ("ab_glyph", &["report/", "cardprint/"]),
    ("pdf_writer", &["cardprint/"]),
    ("qrcode", &["cardprint/"]),
    ("rqrr", &["scale/card/"]),
    ("toml", &["limits/"]),
    ("indicatif", &["cli/"]),
    ("tracing_subscriber", &["main.rs", "cli/"]),
];

fn apart_faults(file: &str, code: &str) -> Vec<String> {
    let mut faults = Vec::new();
    for (name, places) in KEPT_APART {
        if names_crate(code, name)
            && !places
                .iter()
                .any(|p| file.starts_with(p) || file == p.trim_end_matches('/').to_owned() + ".rs")
        {
            faults.push(format!(
                "{file}: the crate `{name}` belongs in {places:?} only"
            ));
        }
    }
    let may_print = file.starts_with("cli/") || file == "main.rs";
    for macro_name in ["println!", "eprintln!", "print!(", "eprint!(", "dbg!"] {
        if !may_print && code.contains(macro_name) {
            faults.push(format!("{file}: the library never prints (`{macro_name}`)"));
        }
    }
    if code.contains("unsafe ") {
        faults.push(format!("{file}: no unsafe code"));
    }
    faults
}

#[test]
fn imports_run_one_way() {
    let faults: Vec<String> = sources()
        .iter()
        .flat_map(|(f, c)| import_faults(f, c))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn outside_crates_stay_in_their_files_and_the_library_never_prints() {
    let faults: Vec<String> = sources()
        .iter()
        .flat_map(|(f, c)| apart_faults(f, c))
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

#[test]
fn files_stay_short() {
    let long: Vec<String> = sources()
        .iter()
        .filter(|(_, code)| code.lines().count() > LONGEST)
        .map(|(file, code)| format!("{file}: {} lines", code.lines().count()))
        .collect();
    assert!(
        long.is_empty(),
        "over {LONGEST} lines before the tests:\n{}",
        long.join("\n")
    );
}

/// The rules above must be able to fail: each of these lines breaks one.
#[test]
fn forbidden_lines_are_noticed() {
    let bad = [
        ("base/geometry/line.rs", "use crate::record::Reason;"),
        (
            "record/mod.rs",
            "use crate::{base::geometry::Point, scale::Scale};",
        ),
        ("photo/mod.rs", "use crate::scale::Scale;"),
        ("scale/rule.rs", "use crate::photo::decode::decode;"),
        (
            "section/mod.rs",
            "use crate::scale::{Scale, rule::find as f};",
        ),
        (
            "section/mod.rs",
            "let f = crate::fracture::measure(&photo);",
        ),
        ("limits/mod.rs", "use crate::section::Weld;"),
        (
            "report/html.rs",
            "use crate::{\n    record::Record,\n    section::Weld,\n};",
        ),
        ("pipeline.rs", "use crate::section::members::fit;"),
        ("pipeline.rs", "use crate::cli::Arguments;"),
        ("pipeline.rs", "use crate::archive::Archive;"),
        ("archive/mod.rs", "use crate::report::html;"),
        ("archive/mod.rs", "use crate::pipeline::Request;"),
        ("cohort/batch.rs", "use crate::scale::find;"),
        ("cohort/batch.rs", "use crate::archive::chain::hash;"),
        ("cli/section.rs", "use crate::section::Weld;"),
        ("cli/section.rs", "use crate::scale::find;"),
        ("attic/mod.rs", "use crate::base::raster::Gray;"),
    ];
    for (file, line) in bad {
        // The unknown room is reported once a file, the others once a path.
        assert!(
            !import_faults(file, &code(line)).is_empty(),
            "{file}: `{line}` went unnoticed"
        );
    }
    let apart = [
        ("scale/rule.rs", "use image::DynamicImage;"),
        ("photo/checks.rs", "let r = image::load_from_memory(b);"),
        ("record/mod.rs", "use clap::Parser;"),
        (
            "archive/verify.rs",
            "let c = rusqlite::Connection::open(p);",
        ),
        ("section/mod.rs", "fn f() { println!(\"x\"); }"),
        ("section/mod.rs", "fn f() { unsafe { g() } }"),
    ];
    for (file, line) in apart {
        assert!(
            !apart_faults(file, &code(line)).is_empty(),
            "{file}: `{line}` went unnoticed"
        );
    }
    let good = [
        (
            "section/mod.rs",
            "use crate::scale::Scale; // not crate::fracture",
        ),
        (
            "section/mod.rs",
            "use crate::base::geometry::{Joint, Line};\n/// crate::cli is for people",
        ),
        (
            "pipeline.rs",
            "use crate::scale::{self, Scale}; let s = crate::scale::Source::Auto;",
        ),
        ("cli/args.rs", "use crate::scale::Source;"),
    ];
    for (file, line) in good {
        assert_eq!(
            import_faults(file, &code(line)),
            Vec::<String>::new(),
            "{file}: `{line}`"
        );
    }
}

#[test]
fn manifest_keeps_picture_crates_lean() {
    let text = std::fs::read_to_string(root().join("Cargo.toml")).expect("the manifest");
    let manifest: toml::Table = text.parse().expect("a TOML file");
    for name in ["image", "imageproc", "statrs"] {
        // Without this line default features bring in some sixty more crates.
        if let Some(entry) = manifest["dependencies"].get(name) {
            let lean = entry.get("default-features").and_then(toml::Value::as_bool) == Some(false);
            assert!(lean, "`{name}` must have default-features = false");
        }
    }
    // What optional features would add stands in the lock file too, so only
    // crates that nothing here names at all can be looked for in it.
    let lock = std::fs::read_to_string(root().join("Cargo.lock")).expect("the lock file");
    for name in ["openssl-sys", "tokio"] {
        assert!(
            !lock.contains(&format!("name = \"{name}\"")),
            "`{name}` came into the tree"
        );
    }
}

/// Words that betray the machine a file was made on. Split in two so that this
/// file does not hold them.
const BETRAYING: &[(&str, &str)] = &[
    ("/home", "/"),
    ("/root", "/"),
    ("/Users", "/"),
    ("/work", "/"),
    ("/tmp", "/"),
    ("C:", "\\"),
    ("index.", "crates.io"),
    ("static.", "crates.io"),
    ("sk", "-ant-"),
    ("ghp", "_"),
];

fn betrayals(name: &str, text: &str) -> Vec<String> {
    BETRAYING
        .iter()
        .map(|(a, b)| format!("{a}{b}"))
        .filter(|word| {
            text.match_indices(word.as_str()).any(|(at, _)| {
                // A path starts at a border; a word before the slash is none.
                !word.starts_with('/')
                    || !text[..at].ends_with(|c: char| c.is_alphanumeric() || "._-<}".contains(c))
            })
        })
        .map(|word| format!("{name}: `{word}`"))
        .collect()
}

#[test]
fn tracked_files_name_no_machine() {
    let mut faults = Vec::new();
    let mut read = 0;
    let top = std::fs::read_dir(root()).expect("the project folder");
    for entry in top {
        let path = entry.expect("an entry").path();
        let name = path
            .file_name()
            .expect("a name")
            .to_string_lossy()
            .into_owned();
        if matches!(name.as_str(), ".git" | "target" | "out" | "Cargo.lock") {
            continue;
        }
        let inner = if path.is_dir() {
            files(&path, "")
        } else {
            vec![path]
        };
        for file in inner {
            // Pictures and fonts are no text.
            let Ok(text) = std::fs::read_to_string(&file) else {
                continue;
            };
            read += 1;
            faults.extend(betrayals(
                &file.strip_prefix(root()).expect("below").to_string_lossy(),
                &text,
            ));
        }
    }
    assert!(read > 40, "the files were not found");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    let sample = format!("open {}{}x", BETRAYING[1].0, BETRAYING[1].1);
    assert_eq!(
        betrayals("sample", &sample).len(),
        1,
        "the check must be able to fail"
    );
}
