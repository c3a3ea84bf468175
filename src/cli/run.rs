//! The program as a recipe: arguments, book, tables, the question, the answer, the view.

use std::ffi::OsString;
use std::path::{Path, PathBuf};

use clap::{CommandFactory, Parser};

use super::args::{Asked, Cli, Command, Format, RatesCommand};
use super::exit::Exit;
use super::{after, files, world};
use crate::book::{Book, BookFile};
use crate::compare::compare;
use crate::landed::{Ask, Desk, Landed, cost, cost_at};
use crate::rank::rank;
use crate::report::{self, Show, View};
use crate::tables::Tables;
use crate::text::words::count;
use crate::text::{Diagnostic, Problems, Severity, draw};
use crate::units::{Currency, Overflow};
use crate::value::{self, bench::Findings};

/// Runs the program.
pub fn run(args: impl Iterator<Item = OsString>) -> Exit {
    let args: Vec<OsString> = args.collect();
    let cli = match Cli::try_parse_from(&args) {
        Ok(cli) => cli,
        Err(error) if error.use_stderr() => {
            if let Some(problem) = no_such_command(&args) {
                world::complain(&problem);
                return Exit::Usage;
            }
            world::complain(&error.render().to_string());
            return Exit::Usage;
        }
        Err(help) => return world::print(&help.render().to_string()),
    };
    match cli.command {
        None => check(&cli.asked),
        Some(Command::New { dir, kind, workbook: false }) => new(&dir, &kind),
        Some(Command::New { dir, kind, workbook: true }) => super::show::new_workbook(&dir, &kind),
        Some(Command::Check(asked)) => check(&asked),
        Some(Command::Cost(asked)) => answer(&asked, cost_of),
        Some(Command::Leeway { asked, assurance, days }) => answer(&asked, |case, desk, _| after::leeway_of(case, desk, &assurance, days)),
        Some(Command::Settle { asked, add, day }) => after::settle(&asked, &add, day.as_deref()),
        Some(Command::Return { asked, part, reason, repair, day }) => {
            answer(&asked, |case, desk, _| after::return_of(case, desk, &part, &reason, repair.as_deref(), day.as_deref()))
        }
        Some(Command::Compare(asked)) => answer(&asked, compare_of),
        Some(Command::Rank(asked)) => answer(&asked, rank_of),
        Some(Command::Plan { asked, wanted }) => super::planning::plan(&asked, &wanted),
        Some(Command::Report { asked, how }) => super::show::report(&asked, &how),
        Some(Command::Rates { what: Some(RatesCommand::Import { file, rates }), .. }) => import(&file, &rates),
        Some(Command::Rates { asked, gaps, older_than, .. }) => rates(&asked, gaps.then_some(older_than)),
        Some(Command::Bulk { list, asked, jobs, keep_going }) => bulk(&list, &asked, jobs, keep_going.as_deref()),
        Some(Command::Help { topic }) => help(topic.as_deref()),
    }
}

/// A first word that is no command, and is followed by another word.
fn no_such_command(args: &[OsString]) -> Option<String> {
    let word = args.get(1)?.to_str()?;
    let command = Cli::command();
    let known = word.starts_with('-') || command.get_subcommands().any(|one| one.get_name() == word);
    let followed = args.get(2).and_then(|next| next.to_str()).is_some_and(|next| !next.starts_with("--"));
    let near = super::args::near_command(word).map(|near| format!(": did you mean `{near}`?")).unwrap_or_default();
    (!known && followed).then(|| format!("error: there is no command `{word}`{near}\n\nFor more information, try '--help'.\n"))
}

/// What a command answers with: a view, and the same for programs.
pub(super) struct Answer {
    pub(super) view: View,
    pub(super) json: serde_json::Value,
}

/// A book, its tables and the question, read and complete.
pub(super) struct Case {
    pub(super) book: Book,
    pub(super) tables: Tables,
    pub(super) ask: Ask,
}

pub(super) type Answered = Result<Answer, Problems>;

/// Reads everything a command needs, and keeps every problem it meets.
pub(super) fn read(asked: &Asked, problems: &mut Problems) -> Option<Case> {
    let flags = asked.settings().map_err(|error| problems.push(Diagnostic::error(error))).ok()?;
    let files = files::book(&asked.book, problems);
    if problems.refuse() {
        return None;
    }
    let book = Book::read(&files, problems);
    let tables = tables(asked, &book, &files, problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let ask = problems.keep(Ask::new(&settings, world::today()))?;
    Some(Case { book, tables, ask })
}

fn tables(asked: &Asked, book: &Book, files: &[BookFile], problems: &mut Problems) -> Tables {
    let own: Option<PathBuf> = match (&asked.rates, &book.settings.rates) {
        (Some(flag), _) => Some(PathBuf::from(flag)),
        (None, Some(setting)) => Some(beside(files, setting)),
        (None, None) => {
            files::unnamed_rates(&asked.book, problems);
            None
        }
    };
    let users = own.map(|path| files::rates(&path, problems)).unwrap_or_default();
    Tables::load(users, problems)
}

/// A folder named in `settings.csv` is taken from where that file stands.
fn beside(files: &[BookFile], folder: &str) -> PathBuf {
    let settings = files.iter().find(|f| f.table == "settings").map(|f| Path::new(&f.path));
    settings.and_then(Path::parent).map_or_else(|| PathBuf::from(folder), |parent| parent.join(folder))
}

/// Reads, answers, and writes; problems go to standard error.
pub(super) fn answer(asked: &Asked, question: impl Fn(&Case, &Desk<'_>, &Asked) -> Answered) -> Exit {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems).filter(|_| !problems.refuse());
    let Some(case) = case else { return refused(problems) };
    let answered = Desk::open(&case.tables, &case.ask).and_then(|desk| {
        desk.warnings.iter().for_each(|warning| problems.push(warning.clone()));
        question(&case, &desk, asked)
    });
    match answered {
        Ok(answer) => {
            tell(problems);
            write(&answer, asked.format)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// What is strange in the user's rows for the destination and refuses nothing; tests hold the built-in rows to nothing
/// strange.
pub(super) fn warnings_of_law(case: &Case, problems: &mut Problems) {
    if !case.tables.has_users() {
        return;
    }
    if let Ok(desk) = Desk::open(&case.tables, &case.ask) {
        desk.warnings.iter().for_each(|warning| problems.push(warning.clone()));
    }
}

pub(super) fn refused(problems: Problems) -> Exit {
    tell(problems);
    Exit::Refused
}

pub(super) fn tell(problems: Problems) {
    if !problems.is_empty() {
        world::complain(&draw(&problems.sorted(), world::colour_err()));
    }
}

pub(super) fn write(answer: &Answer, format: Format) -> Exit {
    world::print(&match format {
        Format::Table => report::text(&answer.view, world::colour_out()),
        Format::Markdown => report::markdown(&answer.view),
        Format::Csv => report::csv(&answer.view),
        Format::Json => serde_json::to_string_pretty(&answer.json).unwrap_or_default() + "\n",
    })
}

/// An overflow while showing is a refusal like any other.
pub(super) fn refusal(overflow: Overflow) -> Problems {
    let mut problems = Problems::new();
    problems.push(overflow.into());
    problems
}

pub(super) fn show(case: &Case, own: Currency) -> Result<Show, Problems> {
    let currency = case.ask.shown.unwrap_or(own);
    let mut problems = Problems::new();
    let found = case.tables.exchange.quote(crate::tables::Use::Market, own, currency, case.ask.date).map_err(refusal)?;
    match found {
        Some(quote) => Ok(Show { currency, rate: quote.rate, to: case.ask.to }),
        None => {
            problems.push(crate::landed::no_rate(own, currency, case.ask.date));
            Err(problems)
        }
    }
}

fn cost_of(case: &Case, desk: &Desk<'_>, asked: &Asked) -> Answered {
    let landed = cost_at(&case.book, desk)?;
    let show = show(case, landed.currency)?;
    let (mut view, mut json) = (View::default(), serde_json::Value::Null);
    if asked.format == Format::Json {
        let tables = report::tables_json(desk, &case.ask);
        json = report::cost_json(&landed, &case.ask, &show, tables, asked.trail).map_err(refusal)?;
    } else {
        view = report::cost_view(&landed, &case.ask, desk, &show, asked.trail).map_err(refusal)?;
    }
    Ok(Answer { view, json })
}

fn rates(asked: &Asked, gaps: Option<i64>) -> Exit {
    let mut problems = Problems::new();
    let flags = match asked.settings() {
        Ok(flags) => flags,
        Err(error) => {
            problems.push(Diagnostic::error(error));
            return refused(problems);
        }
    };
    let in_book = asked.book != "." || Path::new("parts.csv").is_file();
    let files = if in_book { files::book(&asked.book, &mut problems) } else { Vec::new() };
    if problems.refuse() {
        return refused(problems);
    }
    let book = if in_book { Book::read(&files, &mut problems) } else { Book::default() };
    let tables = tables(asked, &book, &files, &mut problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let Some(ask) = problems.keep(Ask::new(&settings, world::today())).filter(|_| !problems.refuse()) else { return refused(problems) };
    match Desk::open(&tables, &ask) {
        Ok(desk) => {
            desk.warnings.iter().for_each(|warning| problems.push(warning.clone()));
            tell(problems);
            let answer = match gaps {
                Some(older_than) => {
                    let gaps = crate::landed::gaps(&desk, older_than);
                    Answer { view: report::gaps_view(&gaps, &ask), json: report::gaps_json(&gaps, &ask) }
                }
                None => Answer { view: report::rates_view(&desk, &ask), json: report::rates_json(&desk, &ask) },
            };
            write(&answer, asked.format)
        }
        Err(more) => {
            problems.extend(more);
            refused(problems)
        }
    }
}

/// Checks a book: everything that is wrong, then what is open and what comes next.
fn check(asked: &Asked) -> Exit {
    let mut problems = Problems::new();
    let case = read(asked, &mut problems);
    let mut landed: Option<Landed> = None;
    let mut findings = Findings::default();
    if let Some(case) = &case {
        warnings_of_law(case, &mut problems);
        match cost(&case.book, &case.tables, &case.ask) {
            Ok(done) => landed = Some(done),
            Err(more) => problems.extend(more),
        }
        if let Ok(desk) = Desk::open(&case.tables, &case.ask) {
            findings = value::check(&case.book, &desk, &mut problems);
        }
    }
    let problems = problems.sorted();
    if asked.format == Format::Json {
        let exit = if problems.refuse() { Exit::Refused } else { Exit::Done };
        let json = report::check_json(&problems, landed.as_ref(), &findings);
        return match world::print(&(serde_json::to_string_pretty(&json).unwrap_or_default() + "\n")) {
            Exit::Done => exit,
            other => other,
        };
    }
    let refuse = problems.refuse();
    let warnings = problems.iter().filter(|p| p.severity == Severity::Warning).count();
    let errors = problems.len() - warnings;
    tell(problems);
    let (Some(case), Some(landed), false) = (case, landed, refuse) else {
        let warned = if warnings == 0 { String::new() } else { format!(" and {}", count(warnings, "warning", "warnings")) };
        let found = count(errors, "error", "errors");
        world::complain(&format!("{found}{warned}: nothing is reckoned until the errors are mended\n"));
        return Exit::Refused;
    };
    let view = report::check_view(sentence(&case, &landed, warnings), open_places(&landed, &findings), next_command(&case, &landed));
    write(&Answer { view, json: serde_json::Value::Null }, asked.format)
}

fn sentence(case: &Case, landed: &Landed, warnings: usize) -> String {
    let rows = count(case.book.parts.len(), "row", "rows");
    let parcels = count(landed.bills.len(), "parcel", "parcels");
    format!(
        "{rows} read, {parcels}, {}, {}.",
        count(warnings, "warning", "warnings"),
        count(landed.open.len(), "row without a price yet", "rows without a price yet")
    )
}

fn open_places(landed: &Landed, findings: &Findings) -> Vec<String> {
    let mut lines = report::empty_places(findings);
    if !landed.open.is_empty() {
        lines.push(format!("no price yet: {}", landed.open.join(", ")));
    }
    lines.extend(report::caution_lines(&landed.cautions));
    lines
}

/// The next useful command.
fn next_command(case: &Case, landed: &Landed) -> &'static str {
    if landed.bills.is_empty() && landed.held.is_empty() {
        "fill in seller, price, currency, dispatch and mass_g, then `landwaiter cost`"
    } else if !case.book.bikes.is_empty() {
        "`landwaiter cost`, then `landwaiter compare`"
    } else if case.book.options().next().is_some() {
        "`landwaiter cost`, then `landwaiter rank`"
    } else {
        "`landwaiter cost`"
    }
}

/// The files of a book whose sellers and settings a list is priced with; whatever else lies beside them is no matter.
fn terms(book: &str, problems: &mut Problems) -> Vec<BookFile> {
    let mut met = Problems::new();
    let files = if Path::new(book).exists() { files::book(book, &mut met) } else { Vec::new() };
    met.iter().filter(|p| p.severity == Severity::Error).for_each(|p| problems.push(p.clone()));
    files
}

/// Prices a list: a pure filter from the list to standard output, with the sellers and settings of a book.
fn bulk(list: &str, asked: &Asked, jobs: u8, keep_going: Option<&str>) -> Exit {
    let mut problems = Problems::new();
    let Some(flags) = asked.settings().map_err(|error| problems.push(Diagnostic::error(error))).ok() else { return refused(problems) };
    let files = terms(&asked.book, &mut problems);
    let book = Book::read_terms(&files, &mut problems);
    let tables = tables(asked, &book, &files, &mut problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let ask = problems.keep(Ask::new(&settings, world::today()));
    let opened = problems.keep(files::stream(list)).and_then(|(bytes, size)| {
        let path = if list == "-" { "standard input" } else { list };
        let (list, header, columns) = problems.keep(super::list::List::open(path, bytes))?;
        Some((super::bulk::Stream { path, list, header, size, jobs: usize::from(jobs), rejects: keep_going }, columns))
    });
    let (Some(ask), Some((opened, columns)), false) = (ask, opened, problems.refuse()) else { return refused(problems) };
    tell(problems);
    let setting = crate::bulk::Setting { tables: &tables, ask: &ask, sellers: &book.sellers, columns: &columns };
    match super::bulk::price(opened, &setting) {
        Ok(exit) => exit,
        Err(problems) => refused(problems),
    }
}

/// Adds a published file to the user's own tables: all of it, or nothing.
fn import(file: &str, rates: &str) -> Exit {
    let mut problems = Problems::new();
    let target = Path::new(rates).join("exchange.csv");
    let bytes = files::read_named(Path::new(file), file, &mut problems);
    let old = if target.exists() { files::read_named(&target, &target.to_string_lossy(), &mut problems) } else { None };
    let publication = bytes.and_then(|bytes| crate::tables::import(file, &bytes, &mut problems));
    let old = old.and_then(|bytes| problems.keep(crate::text::decode(&target.to_string_lossy(), &bytes)));
    let Some(publication) = publication.filter(|_| !problems.refuse()) else { return refused(problems) };
    let (text, days) = match crate::tables::merge(old.as_deref(), &publication) {
        Ok(merged) => merged,
        Err(why) => {
            let shown = crate::text::words::quoted(&target.to_string_lossy());
            problems.push(Diagnostic::error(format!("{shown} is left as it is: {why}")));
            return refused(problems);
        }
    };
    if !days.is_empty() {
        files::replace(&target, &text, &mut problems);
    }
    if problems.refuse() {
        return refused(problems);
    }
    world::print(&report::import_text(&publication, &days, &target.to_string_lossy()))
}

fn new(dir: &str, kind: &str) -> Exit {
    let mut problems = Problems::new();
    let tables = Tables::load(Vec::new(), &mut problems);
    let parts = report::starter_parts(&tables, kind);
    let rows = parts.lines().count().saturating_sub(1);
    files::write_new(dir, &[("parts.csv", parts), ("settings.csv", report::starter_settings(kind))], &mut problems);
    if problems.refuse() {
        return refused(problems);
    }
    world::print(&format!(
        "{dir}/parts.csv: {} of a {kind} bike to fill in; leave empty what you do not know yet.\n{dir}/settings.csv: say where it is delivered.\nNext: landwaiter check {dir}\n",
        count(rows, "place", "places")
    ))
}

fn help(topic: Option<&str>) -> Exit {
    match topic {
        Some("words") => world::print(&report::text(&report::words_view(), false)),
        Some(name) => {
            let mut cli = Cli::command();
            match cli.find_subcommand_mut(name) {
                Some(command) => world::print(&command.render_long_help().to_string()),
                None => {
                    world::complain(&format!("error: there is no help on `{name}`: say `words`, or the name of a command\n"));
                    Exit::Usage
                }
            }
        }
        None => world::print(&Cli::command().render_help().to_string()),
    }
}

fn compare_of(case: &Case, desk: &Desk<'_>, asked: &Asked) -> Answered {
    let comparison = compare(&case.book, &case.tables, &case.ask)?;
    let show = show(case, desk.currency())?;
    let tables = report::tables_json(desk, &case.ask);
    let view = report::compare_view(&comparison, &show, asked.trail).map_err(refusal)?;
    Ok(Answer { view, json: report::compare_json(&comparison, &case.ask, &show, &tables).map_err(refusal)? })
}

fn rank_of(case: &Case, desk: &Desk<'_>, _: &Asked) -> Answered {
    let ranking = rank(&case.book, &case.tables, &case.ask)?;
    let show = show(case, desk.currency())?;
    let tables = report::tables_json(desk, &case.ask);
    let mut view = report::rank_view(&ranking, &case.ask, &show).map_err(refusal)?;
    let mut json = report::rank_json(&ranking, &case.ask, &show, &tables).map_err(refusal)?;
    let losses = after::losses(case, desk, &ranking);
    report::beside_rank(&losses, desk, &show, &mut view, &mut json);
    Ok(Answer { view, json })
}
