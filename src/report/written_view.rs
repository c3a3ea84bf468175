//! What `report` says when its files are there: how many they are and where, the landed cost they tell, and what each one shows.

use std::path::Path;

use super::cautions::LAST;
use super::view::{Cell, Grid, View};
use crate::text::words::{count, list};

/// A file of a report, and what it shows.
pub(crate) struct Shown<'a> {
    /// Its path, as it was written.
    pub(crate) path: &'a str,
    /// What it shows.
    pub(crate) shows: &'a str,
}

/// The view of the files that were written; `sum` is the landed cost in a sentence, which is left out with the prices.
pub(crate) fn written_view(files: &[Shown<'_>], sum: Option<&str>, hides: bool) -> View {
    let mut view = View::default();
    let pictures = files.iter().any(|file| ending(file) == "svg");
    view.answer(match files {
        [one] => format!("Wrote {}: {}.", one.path, one.shows),
        _ => many(files),
    });
    if let Some(sum) = sum {
        view.say(sum);
    }
    if files.len() > 1 {
        view.table(table(files));
    }
    if files.iter().any(|file| ending(file) == "png") {
        view.say("Each picture is there twice: as .svg for a page and as .png for a post.");
    }
    if !hides {
        view.say("Before you publish: `--hide sellers,prices` leaves out whom you buy from and what you pay.");
    }
    view.say("");
    view.say(match files {
        [one] if ending(one) == "xlsx" => {
            "Next: open it in a spreadsheet program, and change what you like: its sums follow."
        }
        [_] => "Next: open it in a browser. For a workbook of live formulas: `-o sum.xlsx`.",
        _ if pictures && files.iter().any(|file| ending(file) == "html") => {
            "Next: open page.html in a browser. For a workbook of live formulas: `-o sum.xlsx`."
        }
        _ => "Next: read words.txt aloud, or show the pictures.",
    });
    LAST.iter().for_each(|line| view.say(*line));
    view
}

/// `Wrote 1 page, 12 pictures and a text to read aloud to mybike/report.`
fn many(files: &[Shown<'_>]) -> String {
    let of = |wanted: &str| files.iter().filter(|file| ending(file) == wanted).count();
    let mut what = Vec::new();
    for (number, one, more) in [
        (of("html"), "page", "pages"),
        (of("svg"), "picture", "pictures"),
    ] {
        if number > 0 {
            what.push(count(number, one, more));
        }
    }
    if of("txt") > 0 {
        what.push("a text to read aloud".to_owned());
    }
    let folder = files.first().and_then(|file| Path::new(file.path).parent());
    let folder = folder.map_or(String::new(), |folder| {
        folder.to_string_lossy().into_owned()
    });
    format!("Wrote {} to {folder}.", list(&what, "and"))
}

/// What each file shows; pictures by their name, and those that show the same in one row.
fn table(files: &[Shown<'_>]) -> Grid {
    let mut grid = Grid::new("files", &["File", "Shows"]);
    let mut rows: Vec<(String, String, &str)> = Vec::new();
    for file in files.iter().filter(|file| ending(file) != "png") {
        let path = Path::new(file.path);
        let name = match ending(file).as_str() {
            "svg" => path.file_stem(),
            _ => path.file_name(),
        };
        let name = name.unwrap_or_default().to_string_lossy().into_owned();
        match rows.last_mut() {
            Some((_, last, shows)) if *shows == file.shows => *last = name,
            _ => rows.push((name.clone(), name, file.shows)),
        }
    }
    for (first, last, shows) in rows {
        let name = if first == last {
            first
        } else {
            format!("{first} to {last}")
        };
        grid.rows.push(vec![Cell::text(name), Cell::text(shows)]);
    }
    grid
}

fn ending(file: &Shown<'_>) -> String {
    let ending = Path::new(file.path).extension().unwrap_or_default();
    ending.to_string_lossy().to_lowercase()
}
