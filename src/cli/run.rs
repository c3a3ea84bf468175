//! The program as a recipe: arguments, book, tables, the question, the answer, the view.

use super::case::{answer, reads, refused, tables, tell};
use super::importing::{import, update};
use super::rates::rates;
use std::ffi::OsString;
use std::path::Path;

use clap::{CommandFactory, Parser};

use super::args::{Cli, Command, Done, RatesCommand, Tools};
use super::common_args::CommonArgs;
use super::exit::Exit;
use super::idle::idle;
use super::stepping::ordered;
use super::target::{identity, identity_of_input, is_standard_input};
use super::{book_files, files, world};
use crate::answer::{Back, Command as Asks, Deed};
use crate::book::{Book, BookFile};
use crate::bulk::Columns;
use crate::landed::Question;
use crate::report;
use crate::text::words::quoted;
use crate::text::{Diagnostic, Problems, visible};

/// Runs the program.
pub fn run(args: impl Iterator<Item = OsString>) -> Exit {
    let args: Vec<OsString> = args.collect();
    understood(&args).map_or_else(
        |exit| exit,
        |cli| carry_out(cli.command, &cli.asked, &typed(&args)),
    )
}

/// The command line, understood; otherwise what was wrong with it, or the help asked for, has been said already.
fn understood(args: &[OsString]) -> Result<Cli, Exit> {
    let cli = match Cli::try_parse_from(args) {
        Ok(cli) => cli,
        Err(error) if error.use_stderr() => {
            let known = no_such_command(args);
            world::complain(
                &known.unwrap_or_else(|| visible(&error.render().to_string()).into_owned()),
            );
            return Err(Exit::Usage);
        }
        Err(help) => return Err(world::print(&help.render().to_string())),
    };
    let problem = no_trail(&cli)
        .map(|reason| format!("there is no trail to show here: {reason}"))
        .or_else(|| idle(&cli, args));
    match problem {
        None => Ok(cli),
        Some(problem) => {
            world::complain(&format!(
                "error: {problem}\n\nFor more information, try '--help'.\n"
            ));
            Err(Exit::Usage)
        }
    }
}

/// The command line as somebody types it, without the name of the program.
fn typed(args: &[OsString]) -> String {
    let word = |arg: &OsString| {
        let word = arg.to_string_lossy();
        if word.is_empty() || word.contains([' ', '"', '\'']) {
            format!("\"{}\"", word.replace('"', "\\\""))
        } else {
            word.into_owned()
        }
    };
    let words: Vec<String> = args.iter().skip(1).map(word).collect();
    words.join(" ")
}

/// Gives each command to the function that answers it; `asked` are the flags of a command line without a command.
fn carry_out(command: Option<Command>, asked: &CommonArgs, typed: &str) -> Exit {
    match command {
        None => answer(asked, &Asks::Today),
        Some(Command::New {
            dir,
            kind,
            workbook,
        }) => super::starting::new(&dir, kind, workbook),
        Some(Command::Check(asked)) => answer(&asked, &Asks::Check),
        Some(Command::Settle { asked, add, day }) => settle(&asked, &add, day.as_deref()),
        Some(Command::Step(step)) => super::stepping::step(&step, typed),
        Some(Command::Undo { book }) => super::undoing::undo(&book),
        Some(Command::Plan { asked, wanted }) => super::planning::plan(&asked, &wanted, typed),
        Some(Command::Report { asked, how }) => super::show::report(&asked, &how),
        Some(Command::Rates {
            what: Some(what), ..
        }) => of_rates(&what),
        Some(Command::Rates {
            asked,
            gaps,
            older_than,
            ..
        }) => rates(&asked, gaps.then_some(older_than)),
        Some(Command::Bulk {
            list,
            asked,
            jobs,
            keep_going,
            plain_cells,
        }) => bulk(&list, &asked, (jobs, plain_cells), keep_going.as_deref()),
        Some(Command::Help { topic }) => help(topic.as_deref()),
        Some(Command::Cost(asked)) => answer(&asked, &Asks::Cost),
        Some(Command::Order {
            seller,
            asked,
            done,
        }) => order(seller, asked, &done, typed),
        Some(Command::Rank(asked)) => answer(&asked, &Asks::Rank),
        Some(Command::Compare {
            asked,
            tools: Tools { with_tools },
        }) => answer(&asked, &Asks::Compare { with_tools }),
        Some(Command::Leeway {
            asked,
            assurance,
            days,
            tools: Tools { with_tools },
        }) => {
            let asks = Asks::Leeway {
                assurance: &assurance,
                days,
                with_tools,
            };
            answer(&asked, &asks)
        }
        Some(Command::Return {
            asked,
            part,
            reason,
            repair,
            day,
        }) => {
            let what = Back {
                part: &part,
                reason: reason.as_deref(),
                repair: repair.as_deref(),
                day: day.as_deref(),
            };
            answer(&asked, &Asks::Return(what))
        }
    }
}

/// What to order. A seller that is a folder or a file is the book, and no seller was named.
fn order(seller: Option<String>, mut asked: CommonArgs, done: &Done, typed: &str) -> Exit {
    // `order FOLDER SELLER` is understood too
    let seller = seller.map(|name| {
        if Path::new(&name).exists() && !Path::new(&asked.of.book).exists() {
            std::mem::replace(&mut asked.of.book, name)
        } else {
            name
        }
    });
    let seller = seller.filter(|name| {
        let is_book = asked.of.book == HERE && Path::new(name).exists();
        if is_book {
            asked.of.book.clone_from(name);
        }
        !is_book
    });
    let seller = seller.as_deref();
    let parcel = seller.unwrap_or_default();
    if parcel.is_empty() && (done.placed || done.cancelled) {
        let what = "the order of which seller is meant?";
        let help =
            "say the seller before the folder, as in `landwaiter order SELLER FOLDER --placed`";
        return refused(Problems::from(Diagnostic::error(what).help(help)));
    }
    if done.cancelled {
        return ordered(&asked, typed, &Deed::Cancelled { parcel }, None);
    }
    match &done.paid {
        None => answer(&asked, &Asks::Order { seller }),
        Some(paid) => {
            let date = done.date.as_deref();
            ordered(&asked, typed, &Deed::Placed { parcel, paid }, date)
        }
    }
}

/// Adds what is to be added, then settles.
fn settle(asked: &CommonArgs, rows: &[String], day: Option<&str>) -> Exit {
    if rows.is_empty() {
        return answer(asked, &Asks::Settle { day });
    }
    super::stepping::add(asked, rows, day)
}

/// The commands that write published rates into tables of one's own.
fn of_rates(what: &RatesCommand) -> Exit {
    match what {
        RatesCommand::Import { file, rates } => import(file, rates),
        RatesCommand::Update { files, book, rates } => update(files, book, rates.as_deref()),
    }
}

/// Why a command that is asked for a trail has none.
fn no_trail(cli: &Cli) -> Option<&'static str> {
    let (asked, reason) = match &cli.command {
        None => (
            &cli.asked,
            "`check` calculates no amount; `cost --trail` shows how each came about",
        ),
        Some(Command::Check(asked)) => (
            asked,
            "`check` calculates no amount; `cost --trail` shows how each came about",
        ),
        Some(Command::Report { asked, .. }) => (
            asked,
            "a page shows how every amount came about as it is, and a workbook calculates it",
        ),
        Some(Command::Order { asked, .. }) => (
            asked,
            "`order` lists what to pay; `cost --trail` shows how each amount came about",
        ),
        Some(Command::Bulk { asked, .. }) => (
            asked,
            "`bulk` writes a line for each line; `cost --trail` shows how the amounts of a book came about",
        ),
        Some(_) => return None,
    };
    asked.trail.then_some(reason)
}

/// A first word that is no command, and is followed by another word.
fn no_such_command(args: &[OsString]) -> Option<String> {
    let word = args.get(1)?.to_str()?;
    let command = Cli::command();
    let known =
        word.starts_with('-') || command.get_subcommands().any(|one| one.get_name() == word);
    let followed = args
        .get(2)
        .and_then(|next| next.to_str())
        .is_some_and(|next| !next.starts_with("--"));
    let near = super::args::near_command(word)
        .map(|near| format!(": did you mean `{near}`?"))
        .unwrap_or_default();
    (!known && followed).then(|| {
        format!(
            "error: there is no command {}{near}\n\nFor more information, try '--help'.\n",
            quoted(word)
        )
    })
}

/// The files of a book whose sellers and settings a list is priced with; whatever else lies beside them is no matter.
fn terms(book: &str, problems: &mut Problems) -> Vec<BookFile> {
    let mut met = Problems::new();
    let files = book_files::book(book, &mut met);
    problems.extend(met.errors_alone());
    if files.is_empty() && !problems.refuse() && book != HERE {
        let what = format!("the folder {} holds no table of a build", quoted(book));
        let help = "`sellers.csv` says how each seller sends, `settings.csv` where to; leave the folder out to price the list without them";
        problems.push(Diagnostic::error(what).help(help));
    }
    files
}

/// The folder that is a book where none is named.
const HERE: &str = ".";

/// Prices a list: a pure filter from the list to standard output, with the sellers and settings of a book.
fn bulk(
    list: &str,
    asked: &CommonArgs,
    (jobs, plain_cells): (u8, bool),
    keep_going: Option<&str>,
) -> Exit {
    let mut problems = Problems::new();
    let Some(flags) = asked
        .settings()
        .map_err(|error| problems.push(Diagnostic::error(error)))
        .ok()
    else {
        return refused(problems);
    };
    let files = terms(&asked.of.book, &mut problems);
    let book = Book::read_terms(&files, &mut problems);
    let tables = tables(asked, &book, &files, &mut problems);
    let mut settings = book.settings.clone();
    settings.overlay(flags);
    let ask = problems.keep(Question::new(&settings, world::today()));
    let opened = opened(list, jobs, &mut problems).map(|(mut stream, columns)| {
        stream.choices = asked.choice_names();
        stream.plain_cells = plain_cells;
        stream.rejects = keep_going.map(|path| super::stream::Rejects {
            path,
            list: source_of(list),
            reads: reads(asked, &book, &files),
        });
        (stream, columns)
    });
    let (Some(ask), Some((opened, columns)), false) = (ask, opened, problems.refuse()) else {
        return refused(problems);
    };
    tell(problems);
    let setting = crate::bulk::Setting {
        tables: &tables,
        ask: &ask,
        sellers: &book.sellers,
        columns: &columns,
        plain_cells,
    };
    let priced = super::bulk::price(opened, &setting);
    // the run is over: thousands of rows are not taken apart one by one
    std::mem::forget(tables);
    match priced {
        Ok(exit) => exit,
        Err(problems) => refused(problems),
    }
}

/// The file that a list is read from, so that nothing is written over it.
fn source_of(list: &str) -> Option<super::target::Identity> {
    if is_standard_input(list) {
        identity_of_input()
    } else {
        identity(Path::new(list))
    }
}

/// A list opened and its header read. Columns that are not known are asked about where a known name is near.
fn opened<'a>(
    list: &'a str,
    jobs: u8,
    problems: &mut Problems,
) -> Option<(super::stream::Stream<'a>, Columns)> {
    let (bytes, size) = problems.keep(files::stream(list))?;
    let path = if is_standard_input(list) {
        "standard input"
    } else {
        list
    };
    let (list, header, columns) = problems.keep(super::list::List::open(path, bytes))?;
    for (name, known) in &columns.near {
        let what = format!("the column {} is unknown and is not read", quoted(name));
        let place = crate::text::Location::line(std::sync::Arc::from(path), 1);
        problems.push(
            Diagnostic::warning(what)
                .at(place)
                .help(format!("did you mean `{known}`?")),
        );
    }
    let stream = super::stream::Stream {
        path,
        list,
        header,
        size,
        jobs: usize::from(jobs),
        rejects: None,
        choices: Vec::new(),
        plain_cells: false,
    };
    Some((stream, columns))
}

fn help(topic: Option<&str>) -> Exit {
    match topic {
        Some("words") => world::print(&report::text(&report::words_view(), &world::screen())),
        Some(name) => {
            let mut cli = Cli::command();
            match cli.find_subcommand_mut(name) {
                Some(command) => world::print(&command.render_long_help().to_string()),
                None => {
                    world::complain(&format!(
                        "error: there is no help on {}: say `words`, or the name of a command\n",
                        quoted(name)
                    ));
                    Exit::Usage
                }
            }
        }
        None => world::print(&Cli::command().render_help().to_string()),
    }
}
