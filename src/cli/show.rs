//! `report`: reads and calculates once, then writes a page, pictures or a workbook, and prints what was written.

use std::path::{Path, PathBuf};
use std::time::Duration;

use super::args::Showing as How;
use super::case::{Case, read, read_for_others, refused, tell};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::planning::Clock;
use super::progress::Line;
use super::target::is_standard_input;
use super::world;
use super::write::{Change, Door, Over};
use crate::answer::{showing, workbook};
use crate::report::picture::{Picture, Shape};
use crate::report::{self, Showing, ShownFile};
use crate::text::{Diagnostic, Problems, visible_name, words};

/// How long the search for a picture may take: long enough for nearly every book, so that one book has one picture. Points that are
/// not proven by then are drawn as such.
const LONGEST: Duration = Duration::from_secs(15);

/// A file to be written, and what it shows.
struct Written {
    path: PathBuf,
    bytes: Vec<u8>,
    shows: String,
}

/// Everything to be written, and the landed cost in a sentence where prices are shown.
struct Made {
    files: Vec<Written>,
    sum: Option<String>,
}

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
                Ok(all) => written(all, how, problems),
                Err(_) => refused(problems),
            };
        }
    }
    match made {
        Ok(all) => written(all, how, problems),
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
fn written(all: Made, how: &How, mut problems: Problems) -> Exit {
    let named: Vec<(String, String)> = all
        .files
        .iter()
        .map(|file| {
            let path = file.path.to_string_lossy().replace('\\', "/");
            let path = path.strip_prefix("./").unwrap_or(&path);
            (visible_name(path), file.shows.clone())
        })
        .collect();
    problems.keep(put(all.files));
    if problems.refuse() {
        return refused(problems);
    }
    tell(problems);
    let files: Vec<ShownFile<'_>> = named
        .iter()
        .map(|(path, shows)| ShownFile { path, shows })
        .collect();
    let view = report::written_view(&files, all.sum.as_deref(), !how.hide.is_empty());
    world::print(&report::text(&view, &world::screen()))
}

/// Writes the files of a report, over those of an earlier report only.
fn put(all: Vec<Written>) -> Result<(), Diagnostic> {
    let door = Door::open(all.iter().map(|file| file.path.as_path()))?;
    let change = |file: Written| Change {
        path: file.path,
        bytes: file.bytes,
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
) -> Result<Made, Problems> {
    let hides_prices = how.hide.iter().any(|what| what == "prices");
    if let Some(file) = how.output.as_deref().filter(|file| ending(file) == "xlsx") {
        let (bytes, sum) = workbook(case, hides_prices, problems)?;
        let files = vec![Written {
            path: PathBuf::from(file),
            bytes,
            shows: "a workbook of live formulas".to_owned(),
        }];
        return Ok(Made {
            files,
            sum: Some(sum),
        });
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
) -> Result<Made, Problems> {
    let shape = Shape::parse(&how.shape).unwrap_or(Shape::Wide);
    let files = match (&how.output, &how.pictures) {
        (Some(file), _) => vec![one_file(file, showing)?],
        (None, Some(folder)) => gallery(Path::new(folder), showing, shape, problems)?,
        (None, None) => {
            let folder = beside(&asked.of.book)?;
            let mut all = vec![page(folder.join("page.html"), showing)?];
            all.extend(gallery(&folder, showing, shape, problems)?);
            all
        }
    };
    let sum = match showing.figures.hidden {
        None => Some(report::landed_line(showing.landed, &showing.figures.show)?),
        Some(_) => None,
    };
    Ok(Made { files, sum })
}

/// The page.
fn page(path: PathBuf, showing: &Showing<'_>) -> Result<Written, Problems> {
    Ok(Written {
        path,
        bytes: report::page(showing)?.into_bytes(),
        shows: "everything on one page, for a browser".to_owned(),
    })
}

/// `report/` in the book; a book on standard input has no folder.
fn beside(book: &str) -> Result<PathBuf, Problems> {
    if is_standard_input(book) {
        return Err(Problems::from(
            Diagnostic::error("a build on standard input has no folder to write a report to")
                .help("name a file: `-o page.html`"),
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
fn one_file(file: &str, showing: &Showing<'_>) -> Result<Written, Problems> {
    if matches!(ending(file).as_str(), "html" | "htm") {
        return page(PathBuf::from(file), showing);
    }
    let what = format!(
        "{} is neither a page nor a workbook: its name must end in .html or .xlsx",
        words::quoted(file)
    );
    Err(Problems::from(Diagnostic::error(what)))
}

/// The pictures, the ladder rung by rung, and the words.
fn gallery(
    folder: &Path,
    showing: &Showing<'_>,
    shape: Shape,
    problems: &mut Problems,
) -> Result<Vec<Written>, Problems> {
    let mut drawn = report::pictures(showing, shape)?;
    let single = drawn.len();
    drawn.extend(report::ladder_series(showing, shape)?);
    let mut pngs = pngs(folder, &drawn, problems)?.into_iter();
    let mut all = Vec::new();
    for (at, picture) in drawn.iter().enumerate() {
        all.push(Written {
            path: folder.join(format!("{}.svg", picture.name)),
            bytes: picture.file(false).into_bytes(),
            shows: if at < single {
                picture.title.clone()
            } else {
                "the ladder, one step after another".to_owned()
            },
        });
        all.extend(pngs.next());
    }
    all.push(Written {
        path: folder.join("words.txt"),
        bytes: report::speech(showing)?.into_bytes(),
        shows: "the result in sentences, to read aloud".to_owned(),
    });
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
            "no font on this machine has the letters {}: the .png pictures have gaps in {}",
            words::quoted(&letters),
            words::few(&texts)
        );
        problems.push(Diagnostic::warning(what).help(
            "the page and the .svg pictures show them wherever a font has them; else install a font that has them",
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
        Ok(Written {
            path: folder.join(format!("{}.png", picture.name)),
            bytes,
            shows: picture.title.clone(),
        })
    };
    drawn.iter().map(one).collect()
}

#[cfg(not(feature = "pages"))]
fn pngs(_: &Path, _: &[Picture], _: &mut Problems) -> Result<Vec<Written>, Problems> {
    Ok(Vec::new())
}
