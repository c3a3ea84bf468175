//! `report`: reads and calculates once, then writes a page, pictures or a workbook, and prints what was written.

use std::path::{Path, PathBuf};
use std::time::Duration;

use super::args::{CommonArgs, Showing as How};
use super::case::{Case, read, read_for_others, refused, tell};
use super::exit::Exit;
use super::planning::Clock;
use super::progress::Line;
use super::target::is_standard_input;
use super::world;
use super::write::{Change, Door, Over};
use crate::answer::{showing, workbook};
use crate::report::picture::{Picture, Shape};
use crate::report::{self, Showing};
use crate::text::{Diagnostic, Problems, visible_name, words};

/// How long the search for a picture may take: long enough for nearly every book, so that one book has one picture. Points that are
/// not proven by then are drawn as such.
const LONGEST: Duration = Duration::from_secs(15);

/// A file to be written.
type Written = (PathBuf, Vec<u8>);

/// Runs the command.
pub(super) fn report(asked: &CommonArgs, how: &How) -> Exit {
    let mut problems = Problems::new();
    let reading = if how.hide.is_empty() {
        read
    } else {
        read_for_others
    };
    let case = reading(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(mut case) = case else {
        return refused(problems);
    };
    let hides_sellers = how.hide.iter().any(|what| what == "sellers");
    if hides_sellers {
        let sellers: Vec<String> = case.book.sellers.keys().cloned().collect();
        let schedules = case.book.hide_sellers();
        case.tables.hide_schedules(&schedules, &sellers);
    }
    let before = problems.len();
    let made = made(&case, asked, how, &mut problems);
    if hides_sellers && (made.is_err() || problems.len() > before) {
        // what is said to the user names things as the user does
        if let Some(more) = in_own_names(asked, how) {
            problems = more;
            return match made {
                Ok(all) => written(all, problems),
                Err(_) => refused(problems),
            };
        }
    }
    match made {
        Ok(all) => written(all, problems),
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// The problems of the same report with nothing hidden of sellers; none if that has none.
fn in_own_names(asked: &CommonArgs, how: &How) -> Option<Problems> {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems).filter(|_| !problems.refuse())?;
    if let Err(more) = made(&case, asked, how, &mut problems) {
        problems.extend(more);
    }
    (!problems.is_empty()).then_some(problems)
}

/// Writes what was made, and says where it is.
fn written(all: Vec<Written>, mut problems: Problems) -> Exit {
    let names: Vec<String> = all
        .iter()
        .map(|(path, _)| visible_name(&path.to_string_lossy().replace('\\', "/")))
        .collect();
    problems.keep(put(all));
    if problems.refuse() {
        return refused(problems);
    }
    tell(problems);
    world::print(&(names.join("\n") + "\n"))
}

/// Writes the files of a report, over those of an earlier report only.
fn put(all: Vec<Written>) -> Result<(), Diagnostic> {
    let door = Door::open(all.iter().map(|(path, _)| path.as_path()))?;
    let change = |(path, bytes)| Change {
        path,
        bytes,
        over: Over::Own(report::made_here),
        like: None,
    };
    door.put(&all.into_iter().map(change).collect::<Vec<_>>())
}

/// Everything that is to be written, in memory; what is strange in the law and refuses nothing goes to the list.
fn made(
    case: &Case,
    asked: &CommonArgs,
    how: &How,
    problems: &mut Problems,
) -> Result<Vec<Written>, Problems> {
    let hides_prices = how.hide.iter().any(|what| what == "prices");
    if let Some(file) = how.output.as_deref().filter(|file| ending(file) == "xlsx") {
        let bytes = workbook(case, hides_prices, problems)?;
        return Ok(vec![(PathBuf::from(file), bytes)]);
    }
    let line = Line::begin();
    let clock = Clock::begin(Some(LONGEST), &line);
    showing(case, hides_prices, &clock, problems, |showing, problems| {
        files_of(showing, asked, how, problems)
    })
}

/// The page, the pictures, or both.
fn files_of(
    showing: &Showing<'_>,
    asked: &CommonArgs,
    how: &How,
    problems: &mut Problems,
) -> Result<Vec<Written>, Problems> {
    let shape = Shape::parse(&how.shape).unwrap_or(Shape::Wide);
    match (&how.output, &how.pictures) {
        (Some(file), _) => one_file(file, showing),
        (None, Some(folder)) => gallery(Path::new(folder), showing, shape, problems),
        (None, None) => {
            let folder = beside(&asked.book)?;
            let mut all = vec![(
                folder.join("page.html"),
                report::page(showing)?.into_bytes(),
            )];
            all.extend(gallery(&folder, showing, shape, problems)?);
            Ok(all)
        }
    }
}

/// `report/` in the book; a book on standard input has no folder.
fn beside(book: &str) -> Result<PathBuf, Problems> {
    if is_standard_input(book) {
        return Err(Problems::from(
            Diagnostic::error("a book on standard input has no folder to write to")
                .help("say `-o page.html`"),
        ));
    }
    let place = Path::new(book);
    let folder = if place.is_dir() {
        place
    } else {
        place.parent().unwrap_or(Path::new("."))
    };
    Ok(folder.join("report"))
}

/// What a file's name ends in.
pub(super) fn ending(file: &str) -> String {
    Path::new(file)
        .extension()
        .map(|e| e.to_string_lossy().to_lowercase())
        .unwrap_or_default()
}

/// A page, by the ending of the name; a workbook is made before.
fn one_file(file: &str, showing: &Showing<'_>) -> Result<Vec<Written>, Problems> {
    let bytes = match ending(file).as_str() {
        "html" | "htm" => report::page(showing)?.into_bytes(),
        _ => {
            let what = format!(
                "{} is neither a page nor a workbook: expected a name that ends in .html or .xlsx",
                words::quoted(file)
            );
            return Err(Problems::from(Diagnostic::error(what)));
        }
    };
    Ok(vec![(PathBuf::from(file), bytes)])
}

/// The pictures, the ladder rung by rung, and the words.
fn gallery(
    folder: &Path,
    showing: &Showing<'_>,
    shape: Shape,
    problems: &mut Problems,
) -> Result<Vec<Written>, Problems> {
    let mut drawn = report::pictures(showing, shape)?;
    drawn.extend(report::ladder_series(showing, shape)?);
    let mut pngs = pngs(folder, &drawn, problems)?.into_iter();
    let mut all = Vec::new();
    for picture in &drawn {
        all.push((
            folder.join(format!("{}.svg", picture.name)),
            picture.file(false).into_bytes(),
        ));
        all.extend(pngs.next());
    }
    all.push((
        folder.join("words.txt"),
        report::speech(showing)?.into_bytes(),
    ));
    Ok(all)
}

/// The pictures as PNG; letters that neither the shipped lettering nor a font of the machine has are named.
#[cfg(feature = "pages")]
fn pngs(
    folder: &Path,
    drawn: &[Picture],
    problems: &mut Problems,
) -> Result<Vec<Written>, Problems> {
    let beyond = report::picture::beyond_lettering(drawn);
    let (fonts, missing) = if beyond.is_empty() {
        Default::default()
    } else {
        super::fonts::drawing(&beyond.keys().copied().collect())
    };
    if !missing.is_empty() {
        let letters: String = missing.iter().collect();
        let texts: std::collections::BTreeSet<String> = missing
            .iter()
            .filter_map(|letter| beyond.get(letter))
            .flatten()
            .map(|text| words::quoted(text))
            .collect();
        let texts: Vec<String> = texts.into_iter().collect();
        let what = format!(
            "no font here has letters for {}: the PNG pictures show gaps in {}",
            words::quoted(&letters),
            words::few(&texts)
        );
        problems.push(Diagnostic::warning(what).help(
            "the page and the SVG pictures show them where they are opened; or install a font",
        ));
    }
    let lettering = report::picture::Lettering::with(fonts);
    let broken = |error: String| {
        Problems::from(Diagnostic::error(format!(
            "a picture cannot be made: {error}"
        )))
    };
    let one = |picture: &Picture| {
        let bytes = report::picture::png(picture, &lettering).map_err(broken)?;
        Ok((folder.join(format!("{}.png", picture.name)), bytes))
    };
    drawn.iter().map(one).collect()
}

#[cfg(not(feature = "pages"))]
fn pngs(_: &Path, _: &[Picture], _: &mut Problems) -> Result<Vec<Written>, Problems> {
    Ok(Vec::new())
}
