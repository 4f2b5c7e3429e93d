//! A class in a fresh folder: a sheet, small photographs, and the program run on
//! them.

use assert_cmd::Command;
use image::{Rgb, RgbImage};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A fresh folder with `photos/`.
pub struct Class {
    folder: TempDir,
}

/// What the program answered.
#[derive(Debug)]
pub struct Answer {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Class {
    pub fn new() -> Self {
        let class = Self {
            folder: tempfile::tempdir().unwrap(),
        };
        fs::create_dir(class.path("photos")).unwrap();
        class
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A small picture without a weld, its grey another for every `tone`: quickly
    /// refused, and filed like any other.
    pub fn photo(&self, name: &str, tone: u8) {
        RgbImage::from_fn(64, 48, |x, _| match x < 32 {
            true => Rgb([60, 60, tone]),
            false => Rgb([190, 190, 190]),
        })
        .save(self.path("photos").join(name))
        .unwrap();
    }

    /// The shipped section HR-07 as `name`.
    pub fn section(&self, name: &str) {
        let shipped =
            Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/sections/HR-07/photo.jpg");
        fs::copy(shipped, self.path("photos").join(name)).unwrap();
    }

    pub fn sheet(&self, text: &str) {
        fs::write(self.path("class.csv"), text).unwrap();
    }

    /// A sheet of `n` coupons with a small photograph each.
    pub fn of_small(n: u8) -> Self {
        let class = Self::new();
        let mut sheet = "coupon,scale,section\n".to_owned();
        for k in 1..=n {
            class.photo(&format!("{k}.png"), k);
            sheet.push_str(&format!("HR-{k:02},declared:20,{k}.png\n"));
        }
        class.sheet(&sheet);
        class
    }

    pub fn command(&self, arguments: &[&str]) -> std::process::Command {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_toeline"));
        command.current_dir(self.folder.path()).args(arguments);
        command
    }

    pub fn run(&self, arguments: &[&str]) -> Answer {
        let output = Command::from_std(self.command(arguments)).output().unwrap();
        Answer {
            code: output.status.code().unwrap(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    pub fn batch(&self) -> Answer {
        self.run(BATCH)
    }

    pub fn archive(&self, arguments: &[&str]) -> Answer {
        let mut all = vec!["archive", arguments[0], "--archive", "archive"];
        all.extend(&arguments[1..]);
        self.run(&all)
    }

    /// The hash that `list` shows.
    pub fn head(&self) -> String {
        let list = self.archive(&["list"]);
        assert_eq!(list.code, 0, "{}", list.err);
        let (_, hash) = list.out.trim().rsplit_once(' ').unwrap();
        hash.to_owned()
    }

    /// Every file of the archive but the lock.
    pub fn files(&self) -> Vec<PathBuf> {
        let mut files = Vec::new();
        let mut open = vec![self.path("archive")];
        while let Some(folder) = open.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                match path.is_dir() {
                    true => open.push(path),
                    false if path.ends_with("lock") => {}
                    false => files.push(path),
                }
            }
        }
        files.sort();
        files
    }
}

/// The command that measures the class.
pub const BATCH: &[&str] = &[
    "batch",
    "class.csv",
    "--photos",
    "photos",
    "--archive",
    "archive",
];
