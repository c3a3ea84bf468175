//! `report`: reads and calculates once, then writes a page, pictures or a workbook, and prints what was written.

use std::path::{Path, PathBuf};

use super::args::{CommonArgs, Showing as How};
use super::case::{Case, read, read_for_others, refused, show, sound, tell};
use super::exit::Exit;
use super::target::is_standard_input;
use super::world;
use super::write::{Change, Door, Over};
use crate::compare::{Comparison, Options, compare_at};
use crate::landed::{Cautions, Jurisdiction, Landed, cost_at};
use crate::leeway::leeway;
use crate::rank::{Ranking, rank_at};
use crate::report::picture::{Picture, Shape};
use crate::report::{self, Figures, Known, More, Showing};
use crate::settle::{Ledger, Scales, history, settle, weigh};
use crate::text::{Diagnostic, Problems, visible_name, words};
use crate::value::scale::{OnScale, weighed};

/// As `leeway` has it where nothing is said: days to the settlement of the card.
const DAYS: u32 = 3;
/// As `leeway` has it where nothing is said: how sure the sum to keep ready is, out of a hundred.
const ASSURANCE: u32 = 90;

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
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    problems.also(&jurisdiction.warnings);
    sound(case, &jurisdiction)?;
    let mut landed = cost_at(&case.book, &jurisdiction)?;
    let mut said = Cautions::default();
    let whole = weighed(&case.book, &jurisdiction, &mut said)?;
    landed.cautions.extend(said.into_list());
    if let Some(file) = how.output.as_deref().filter(|file| ending(file) == "xlsx") {
        return Ok(vec![(
            PathBuf::from(file),
            workbook(&landed, &jurisdiction, case, how)?,
        )]);
    }
    let comparison = if case.book.bikes.is_empty() {
        None
    } else {
        compare_at(&case.book, &jurisdiction, Options::default()).ok()
    };
    let ranking = rank_at(&case.book, &jurisdiction).ok();
    let showing = showing(
        case,
        &jurisdiction,
        &landed,
        (comparison.as_ref(), ranking.as_ref(), whole.as_ref()),
        how,
    )?;
    let shape = Shape::parse(&how.shape).unwrap_or(Shape::Wide);
    match (&how.output, &how.pictures) {
        (Some(file), _) => one_file(file, &showing),
        (None, Some(folder)) => gallery(Path::new(folder), &showing, shape, problems),
        (None, None) => {
            let folder = beside(&asked.book)?;
            let mut all = vec![(
                folder.join("page.html"),
                report::page(&showing)?.into_bytes(),
            )];
            all.extend(gallery(&folder, &showing, shape, problems)?);
            Ok(all)
        }
    }
}

fn showing<'a>(
    case: &'a Case,
    jurisdiction: &'a Jurisdiction<'a>,
    landed: &'a Landed,
    (comparison, ranking, scale): (
        Option<&'a Comparison>,
        Option<&'a Ranking>,
        Option<&'a OnScale>,
    ),
    how: &How,
) -> Result<Showing<'a>, Problems> {
    let whole = landed.totals.landed()?;
    let hidden = how
        .hide
        .iter()
        .any(|what| what == "prices")
        .then_some(whole.amount());
    let figures = Figures {
        show: show(case, landed.currency)?,
        hidden,
    };
    let moves = leeway(&case.book, jurisdiction, DAYS, ASSURANCE.into()).ok();
    let show = figures.show;
    let ledger = if case.book.receipts.is_empty() {
        None
    } else {
        Some(settle(&case.book, jurisdiction)?)
    };
    let scales = if case.book.weighings.is_empty() {
        None
    } else {
        Some(weigh(&case.book, jurisdiction)?)
    };
    let settled = match (&ledger, &scales, hidden) {
        (Some(ledger), scales, None) => Some(settled_view(case, ledger, scales.as_ref(), &show)?),
        _ => None,
    };
    // where prices are hidden it is not drawn
    let plans = match hidden {
        None => super::front::front(case),
        Some(_) => None,
    };
    let known = Known {
        plans: plans.as_deref(),
        ask: Some(&case.ask),
        comparison,
        ranking,
        leeway: moves.as_ref(),
        show: Some(&figures.show),
        settled,
        ledger: ledger.as_ref(),
        scales: scales.as_ref(),
        whole: scale,
        book: Some(&case.book),
    };
    let mut more = More::of(&known)?;
    more.owned = report::owned(&case.book, jurisdiction, scale)?;
    Ok(Showing {
        landed,
        ask: &case.ask,
        jurisdiction,
        figures,
        comparison,
        ranking,
        more,
    })
}

/// What `settle` says of the receipts, on the day of the book.
fn settled_view(
    case: &Case,
    ledger: &Ledger,
    scales: Option<&Scales>,
    show: &report::Show,
) -> Result<report::View, Problems> {
    let ledger = ledger.clone().asking_after(&case.book, case.ask.date);
    let ledger = report::settled_in(&ledger, show)?;
    let (sellers, charges) = history(&ledger)?;
    let none = Scales::default();
    let report = report::SettleReport {
        ledger: &ledger,
        scales: scales.unwrap_or(&none),
        history: (&sellers, &charges),
        day: case.ask.date,
    };
    Ok(report::settle_view(&report, &[], show)?)
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

#[cfg(feature = "pages")]
fn workbook(
    landed: &Landed,
    jurisdiction: &Jurisdiction<'_>,
    case: &Case,
    how: &How,
) -> Result<Vec<u8>, Problems> {
    if how.hide.iter().any(|what| what == "prices") {
        return Err(Problems::from(Diagnostic::error(
            "a workbook is made of prices: they cannot be left out of it",
        )));
    }
    let works = crate::landed::workings(&case.book, jurisdiction)?;
    let broken = |error: String| {
        Problems::from(Diagnostic::error(format!(
            "the workbook cannot be written: {error}"
        )))
    };
    report::workbook(landed, &works).map_err(broken)
}

#[cfg(not(feature = "pages"))]
fn workbook(_: &Landed, _: &Jurisdiction<'_>, _: &Case, _: &How) -> Result<Vec<u8>, Problems> {
    Err(Problems::from(Diagnostic::error(
        "this program was built without workbooks",
    )))
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
