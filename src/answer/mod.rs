//! What the program answers, whoever asks: a book that is read, a command and a watch in; a view, the same for programs, what is
//! to be said of the input, and how it ended out. The recipes of all commands that answer stand here, so that every door gives
//! the same answers. Owns no files, no clock and no terminal: a door reads, writes and shows.

mod after;
mod case;
mod checking;
mod front;
mod ordering;
mod planning;
mod recipes;
mod showing;
mod stepping;
mod today;

pub(crate) use self::{
    after::{Back, settle},
    case::{Case, Input, read, sound},
    recipes::rates,
    showing::{showing, workbook},
    stepping::{Deed, Was, done, wished},
};

use crate::landed::{Bill, Jurisdiction, check_places};
use crate::plan::{Watch, Wishes};
use crate::report::{self, Show, View};
use crate::text::{Diagnostic, Problems};

/// What a command answers with: a view, and the same for programs.
pub(crate) struct Answer {
    pub(crate) view: View,
    pub(crate) json: serde_json::Value,
}

impl Answer {
    /// With the trails of these bills, where they were asked for.
    fn with_trails(mut self, shape: Shape, bills: &[Bill], show: &Show) -> Answer {
        if shape.trail {
            report::add_trails(bills, show, &mut self.view, &mut self.json);
        }
        self
    }
}

/// An answer, or all that stands in its way.
pub(crate) type Answered = Result<Answer, Problems>;

/// How an answer is written.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(crate) enum Format {
    /// For a screen.
    #[default]
    Screen,
    Json,
    Csv,
    Markdown,
}

/// What an answer is made for, and how much of it is wanted.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Shape {
    pub(crate) format: Format,
    /// Whether everything is shown, not only what matters most.
    pub(crate) more: bool,
    /// Whether it is shown how each amount came about.
    pub(crate) trail: bool,
}

/// A command that answers a question about a book.
pub(crate) enum Command<'a> {
    /// Where the build stands today, and what to do now.
    Today,
    Check,
    Cost,
    Rank,
    Compare {
        with_tools: bool,
    },
    Leeway {
        assurance: &'a str,
        days: u32,
        with_tools: bool,
    },
    Plan(Wishes),
    Order {
        seller: Option<&'a str>,
    },
    Settle {
        day: Option<&'a str>,
    },
    Return(Back<'a>),
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Status {
    Done,
    /// The input was refused.
    Refused,
    /// No plan keeps the limits.
    Nothing,
}

/// Everything that comes of a command.
pub(crate) struct Told {
    pub(crate) status: Status,
    /// What is wrong with the input, or strange in it.
    pub(crate) problems: Problems,
    /// A closing line after the problems, on their side.
    pub(crate) closing: String,
    /// The answer, where there is one.
    pub(crate) answer: Option<Answer>,
}

impl Told {
    /// What is refused, with all reasons.
    pub(crate) fn refused(problems: Problems) -> Told {
        Told {
            status: Status::Refused,
            problems,
            closing: String::new(),
            answer: None,
        }
    }

    fn done(problems: Problems, answer: Answer) -> Told {
        Told {
            status: Status::Done,
            problems,
            closing: String::new(),
            answer: Some(answer),
        }
    }
}

/// Answers a command about a book; none is given where it could not be read, and `problems` are those met in reading.
pub(crate) fn answer(
    case: Option<&Case>,
    mut problems: Problems,
    command: &Command<'_>,
    shape: Shape,
    watch: &dyn Watch,
) -> Told {
    match command {
        Command::Today => return today::today(case, problems),
        Command::Check => return checking::check(case, problems, shape),
        _ => {}
    }
    let Some(case) = case else {
        return Told::refused(problems);
    };
    if problems.refuse() {
        // all that is wrong is said at once
        if let Some(jurisdiction) = case::open(case, &mut problems) {
            check_places(&case.book, &jurisdiction, &mut problems);
        }
        return Told::refused(problems);
    }
    let found = Jurisdiction::open(&case.tables, &case.ask).and_then(|jurisdiction| {
        problems.also(&jurisdiction.warnings);
        sound(case, &jurisdiction)?;
        let found = of_command(case, &jurisdiction, command, shape, watch);
        // rules prepared for days are many small pieces, and the only door is a process that ends with its answer: they are not
        // taken apart before
        std::mem::forget(jurisdiction);
        found
    });
    match found {
        Ok(Found::Answer(answer)) => Told::done(problems, answer),
        Ok(Found::Nothing(reason, nearest)) => {
            problems.push(reason);
            Told {
                status: Status::Nothing,
                ..Told::done(problems, nearest)
            }
        }
        Err(more) => {
            problems.extend(more);
            Told::refused(problems)
        }
    }
}

/// What a command finds in a book that is sound.
enum Found {
    Answer(Answer),
    /// No plan: why, and what comes nearest.
    Nothing(Diagnostic, Answer),
}

/// Gives each command to the recipe that answers it.
fn of_command(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    command: &Command<'_>,
    shape: Shape,
    watch: &dyn Watch,
) -> Result<Found, Problems> {
    let answer = match command {
        Command::Plan(wishes) => return planning::plan(case, jurisdiction, wishes, shape, watch),
        Command::Today | Command::Check => {
            return Err(Diagnostic::defect("a book is asked whether it is sound twice").into());
        }
        Command::Cost => recipes::cost(case, jurisdiction, shape)?,
        Command::Rank => recipes::rank(case, jurisdiction, shape)?,
        Command::Compare { with_tools } => {
            recipes::compare(case, jurisdiction, shape, *with_tools)?
        }
        Command::Leeway {
            assurance,
            days,
            with_tools,
        } => after::leeway_of(case, jurisdiction, shape, (assurance, *days), *with_tools)?,
        Command::Order { seller } => ordering::order(case, jurisdiction, *seller)?,
        Command::Settle { day } => settle(case, jurisdiction, shape, &[], *day)?,
        Command::Return(what) => after::return_of(case, jurisdiction, shape, what)?,
    };
    Ok(Found::Answer(answer))
}
