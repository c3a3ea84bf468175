//! `new`: a book to fill in, as tables in a folder or as one spreadsheet; and a wrong start taken back.

use std::io::{BufRead, IsTerminal, Write};
use std::path::{Path, PathBuf};

use super::case::{refused, tell};
use super::exit::Exit;
use super::show::ending;
use super::target::folder_of;
use super::{files, world};
use crate::report::{self, KINDS};
use crate::tables::Tables;
use crate::text::words::quoted;
use crate::text::{Diagnostic, Problems, visible_name};

/// Starts a book of this kind; on a terminal the kind is asked for where it is not given.
pub(super) fn new(dir: &str, kind: Option<String>, workbook: bool) -> Exit {
    let asks = std::io::stdin().is_terminal() && world::watched();
    let kind = match kind {
        Some(kind) => Some(kind),
        None if asks => kind_asked(&mut std::io::stdin().lock(), &mut std::io::stderr()),
        None => None,
    };
    match kind {
        None => {
            world::complain(&format!(
                "error: the kind of bike is not given: add `--kind` with one of {}\n\nFor more information, try '--help'.\n",
                KINDS.join(", ")
            ));
            Exit::Usage
        }
        Some(kind) if workbook => new_workbook(dir, &kind),
        Some(kind) => new_tables(dir, &kind),
    }
}

/// Asks for the kind until one is named; none where nothing more is answered.
fn kind_asked(answers: &mut impl BufRead, questions: &mut impl Write) -> Option<String> {
    loop {
        write!(questions, "Which kind of bike: {}? ", KINDS.join(", ")).ok()?;
        questions.flush().ok()?;
        let mut answer = String::new();
        if answers.read_line(&mut answer).ok()? == 0 {
            return None;
        }
        let answer = answer.trim().to_lowercase();
        let mut meant = KINDS.iter().filter(|kind| kind.starts_with(&answer));
        if let (Some(kind), None, false) = (meant.next(), meant.next(), answer.is_empty()) {
            return Some((*kind).to_owned());
        }
    }
}

/// Starts a book of tables in a folder.
fn new_tables(dir: &str, kind: &str) -> Exit {
    let mut problems = Problems::new();
    if files::is_spreadsheet(dir) {
        let what = format!(
            "a book of tables lies in a folder, and {} is the name of a workbook",
            quoted(dir)
        );
        problems.push(
            Diagnostic::error(what)
                .help("say `--workbook` for a book that is one spreadsheet, or another name"),
        );
        return refused(problems);
    }
    let tables = Tables::load(Vec::new(), &mut problems);
    let untouched = |name: &str, bytes: &[u8]| report::is_untouched(name, bytes, &tables);
    let mut starters = vec![
        (
            "parts.csv",
            report::starter_parts(&tables, kind).into_bytes(),
        ),
        ("settings.csv", report::starter_settings(kind).into_bytes()),
    ];
    // sellers of one's own serve every kind of bike
    let sellers = Path::new(dir).join("sellers.csv");
    let own = std::fs::read(&sellers).is_ok_and(|bytes| !untouched("sellers.csv", &bytes));
    if !own {
        starters.push(("sellers.csv", report::starter_sellers().into_bytes()));
    }
    files::write_new(dir, starters, &untouched, &mut problems);
    if problems.refuse() {
        return refused(problems);
    }
    tell(problems);
    let view = report::started_view(&visible_name(dir), kind, &tables);
    world::print(&report::text(&view, &world::screen()))
}

/// Starts a book that is one spreadsheet. One that is there is never written over: a spreadsheet that was only opened and saved
/// is another file already.
fn new_workbook(dir: &str, kind: &str) -> Exit {
    let mut problems = Problems::new();
    // a name that ends as a workbook's does is the file's own
    let (folder, name) = match Path::new(dir).file_name().and_then(|name| name.to_str()) {
        Some(name) if ending(name) == "xlsx" => (
            folder_of(Path::new(dir)).to_string_lossy().into_owned(),
            name,
        ),
        _ => (dir.to_owned(), "book.xlsx"),
    };
    let path = if name == "book.xlsx" && ending(dir) != "xlsx" {
        Path::new(dir).join(name)
    } else {
        PathBuf::from(dir)
    };
    let tables = Tables::load(Vec::new(), &mut problems);
    let shown = visible_name(&path.to_string_lossy().replace('\\', "/"));
    match starter(&tables, kind) {
        Ok(bytes) => files::write_new(&folder, vec![(name, bytes)], &|_, _| false, &mut problems),
        Err(error) => problems.push(Diagnostic::error(format!(
            "the workbook cannot be written: {error}"
        ))),
    }
    if problems.refuse() {
        return refused(problems);
    }
    world::print(&format!(
        "Made {shown}: a {kind} bike to fill in, each table a sheet. Leave blank what you do not know.\nSet the country of delivery in the sheet `settings`, such as `destination`, `GB`; `cost` needs it.\nNext: `landwaiter check {}`\n",
        visible_name(dir)
    ))
}

#[cfg(feature = "pages")]
fn starter(tables: &Tables, kind: &str) -> Result<Vec<u8>, String> {
    report::starter_workbook(tables, kind)
}

#[cfg(not(feature = "pages"))]
fn starter(_: &Tables, _: &str) -> Result<Vec<u8>, String> {
    Err("this program was built without workbooks".to_owned())
}

#[cfg(test)]
mod tests {
    use super::kind_asked;

    #[test]
    fn the_kind_is_asked_for_until_it_is_named() {
        let asked = |answers: &str| {
            let mut questions = Vec::new();
            let kind = kind_asked(&mut answers.as_bytes(), &mut questions);
            let questions = String::from_utf8(questions).unwrap();
            (kind, questions.matches("road, gravel, hardtail?").count())
        };
        assert_eq!(asked("gravel\n"), (Some("gravel".to_owned()), 1));
        assert_eq!(
            asked("\ntandem\n  Hard \n"),
            (Some("hardtail".to_owned()), 3)
        );
        assert_eq!(asked(""), (None, 1));
    }
}
