//! The fonts of the machine, looked through only when a picture holds letters that the shipped lettering has not.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::report::picture::drawn_by;

/// Fonts larger than this are left alone.
const MOST_BYTES: u64 = 64 << 20;
/// Files that are looked at, at most.
const MOST_FILES: usize = 5000;
/// Folders within folders.
const DEEPEST: usize = 6;

/// Where systems keep their fonts; a person's own come first.
fn folders() -> Vec<PathBuf> {
    let below = |variable: &str, rest: &[&str]| -> Vec<PathBuf> {
        let home = std::env::var_os(variable)
            .filter(|home| !home.is_empty())
            .map(PathBuf::from);
        home.map(|home| rest.iter().map(|rest| home.join(rest)).collect())
            .unwrap_or_default()
    };
    let own = below("HOME", &[".local/share/fonts", ".fonts", "Library/Fonts"]);
    let windows = [
        below("LOCALAPPDATA", &["Microsoft/Windows/Fonts"]),
        below("WINDIR", &["Fonts"]),
    ]
    .concat();
    let shared = [
        "/usr/local/share/fonts",
        "/usr/share/fonts",
        "/Library/Fonts",
        "/System/Library/Fonts",
    ]
    .map(PathBuf::from);
    [own, windows, shared.to_vec()].concat()
}

/// Fonts that draw these letters, as few as there need be, and the letters that none draws.
pub(super) fn drawing(wanted: &BTreeSet<char>) -> (Vec<Vec<u8>>, BTreeSet<char>) {
    drawing_from(&folders(), wanted)
}

fn drawing_from(folders: &[PathBuf], wanted: &BTreeSet<char>) -> (Vec<Vec<u8>>, BTreeSet<char>) {
    let (mut found, mut missing) = (Vec::new(), wanted.clone());
    let mut files = Vec::new();
    folders
        .iter()
        .for_each(|folder| gather(folder, 0, &mut files));
    for file in files {
        if missing.is_empty() {
            break;
        }
        let Ok(bytes) = fs::read(&file) else { continue };
        let drawn = drawn_by(&bytes, &missing);
        if !drawn.is_empty() {
            missing.retain(|letter| !drawn.contains(letter));
            found.push(bytes);
        }
    }
    (found, missing)
}

/// The files of fonts in a folder and those below it, in the order of their names.
fn gather(folder: &Path, depth: usize, found: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    let mut paths: Vec<PathBuf> = entries
        .filter_map(|entry| Some(entry.ok()?.path()))
        .collect();
    paths.sort();
    for path in paths {
        let Ok(known) = fs::metadata(&path) else {
            continue;
        };
        if known.is_dir() && depth < DEEPEST {
            gather(&path, depth + 1, found);
        } else if known.is_file()
            && known.len() <= MOST_BYTES
            && is_font(&path)
            && found.len() < MOST_FILES
        {
            found.push(path);
        }
    }
}

fn is_font(path: &Path) -> bool {
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase());
    ending.is_some_and(|ending| matches!(ending.as_str(), "ttf" | "otf" | "ttc" | "otc"))
}
