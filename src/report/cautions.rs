//! Cautions as a screen says them: what costs most first, what always stands last; and as JSON.

use std::cmp::Reverse;

use serde_json::Value;

use super::show::Show;
use super::view::{Said, View};
use crate::landed::{Caution, Disputed, Stake, disputed_kinds, disputes_named, readings};
use crate::text::words::{count, list, some};
use crate::units::{Dec, Overflow, ShownMoney};

/// How many names a caution gives before it counts the others.
const NAMED: usize = 3;

/// Cautions that always stand: a screen says them in two lines of their own, and where money is due at the door.
pub(crate) const STANDING: [&str; 4] = ["estimate", "declare", "scams", "evidence"];

/// What always stands, in the lines every screen ends with.
pub(crate) const LAST: [&str; 2] = [
    "Estimate, not a ruling: customs and the carrier decide. Declare the true price.",
    "Carbon, brakes: get the ISO 4210 test report; have a qualified mechanic check.",
];

/// What a screen warns of, until it is put in order.
#[derive(Debug, Default)]
pub(crate) struct Warnings {
    said: Vec<(Rank, Said)>,
    /// Disputed rows by country, table and words, and figures in full, for whoever asks for more.
    details: Vec<String>,
}

/// The order of cautions: those that go before all, then money by its amount, then what nobody knows, then what costs nothing, then small change.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    First(Reverse<Option<ShownMoney>>),
    Money(Reverse<ShownMoney>),
    Unknown,
    Nothing,
    Small(Reverse<ShownMoney>),
}

impl Rank {
    fn of(amount: ShownMoney) -> Rank {
        if amount.amount() < Dec::ONE {
            Rank::Small(Reverse(amount))
        } else {
            Rank::Money(Reverse(amount))
        }
    }
}

impl Warnings {
    /// The cautions of a result, without those that always stand.
    pub(crate) fn of(cautions: &[Caution], show: &Show) -> Warnings {
        let mut warnings = Warnings::default();
        for caution in cautions.iter().filter(|c| !STANDING.contains(&c.id)) {
            let rank = match caution.stake {
                Stake::Nothing => Rank::Nothing,
                Stake::Unknown => Rank::Unknown,
                Stake::Money(amount) => show.shown(amount).map_or(Rank::Unknown, Rank::of),
            };
            warnings.add(rank, sentence(caution), caution.id);
        }
        warnings
    }

    /// Adds those of another result.
    pub(crate) fn join(&mut self, other: Warnings) {
        self.said.extend(other.said);
    }

    fn add(&mut self, rank: Rank, text: String, id: &'static str) {
        let said = Said {
            amount: String::new(),
            text,
            id,
        };
        self.said.push((rank, said));
    }

    /// Adds what changes a sum by this much.
    pub(crate) fn costs(&mut self, amount: ShownMoney, text: impl Into<String>, id: &'static str) {
        self.add(Rank::of(amount.abs()), text.into(), id);
    }

    /// Adds what changes a sum by an amount that nobody knows.
    pub(crate) fn costs_unknown(&mut self, text: impl Into<String>, id: &'static str) {
        self.add(Rank::Unknown, text.into(), id);
    }

    /// Adds what stands before everything else, whatever its amount; none where nobody knows it.
    pub(crate) fn before_all(
        &mut self,
        amount: Option<ShownMoney>,
        text: impl Into<String>,
        id: &'static str,
    ) {
        self.add(Rank::First(Reverse(amount)), text.into(), id);
    }

    /// Adds what no money hangs on.
    pub(crate) fn costs_nothing(&mut self, text: impl Into<String>, id: &'static str) {
        self.add(Rank::Nothing, text.into(), id);
    }

    /// Adds the figures of which a caution names only the first.
    pub(crate) fn detail(&mut self, text: String) {
        self.details.push(text);
    }

    /// Both readings of disputed rows, as a sentence that follows another; each row goes behind `--more` by its name.
    pub(crate) fn why(&mut self, rows: &[Disputed]) -> String {
        for name in disputes_named(rows) {
            if !self.details.contains(&name) {
                self.details.push(name);
            }
        }
        match readings(rows).as_slice() {
            [] => String::new(),
            [only] => format!(" {only}"),
            [first, others @ ..] => format!(
                " {first} `--more` has {}.",
                count(others.len(), "more reason", "more reasons")
            ),
        }
    }

    /// Adds that something in a landed cost is disputed, and what it would be without it, or with it.
    pub(crate) fn disputed(
        &mut self,
        sum: ShownMoney,
        other: ShownMoney,
        rows: &[Disputed],
        show: &Show,
    ) -> Result<(), Overflow> {
        let (disputed, why) = (is_disputed(rows), self.why(rows));
        let (less, mixed) = (other < sum, counted_and_freed(rows));
        let not_counted = if less || mixed {
            ""
        } else {
            " and not counted"
        };
        let keep = if less { "aside" } else { "ready" };
        let so = match (mixed, less) {
            (true, _) => "if that is decided otherwise",
            (false, true) => "without it",
            (false, false) => "with it",
        };
        let text = format!(
            "{disputed}{not_counted}.{why} Keep this money {keep}: {so} the landed cost is {}.",
            show.money(other)
        );
        self.costs(other.minus(sum)?, text, "disputed");
        Ok(())
    }

    /// In the order in which they are said, each with its amount.
    pub(crate) fn into_said(mut self, show: &Show) -> Vec<Said> {
        self.said.sort_by_key(|(rank, _)| *rank);
        let with_amount = |(rank, said): (Rank, Said)| {
            let amount = match rank {
                Rank::Money(Reverse(amount)) | Rank::Small(Reverse(amount)) => {
                    show.as_it_is().amount(amount)
                }
                Rank::First(Reverse(Some(amount))) => show.as_it_is().amount(amount),
                Rank::Unknown | Rank::First(Reverse(None)) => "unknown".to_owned(),
                Rank::Nothing => String::new(),
            };
            Said { amount, ..said }
        };
        self.said.into_iter().map(with_amount).collect()
    }

    /// Ends a screen: the warnings under a heading, what to do next, and what always stands.
    pub(crate) fn conclude(mut self, heading: &str, end: &End<'_>, show: &Show, view: &mut View) {
        let details = std::mem::take(&mut self.details);
        if !details.is_empty() {
            let mut more = View::default();
            more.head("What the cautions below rest on");
            more.notes(details);
            view.more(more);
        }
        if !self.said.is_empty() {
            let sums = self
                .said
                .iter()
                .filter(|(rank, _)| matches!(rank, Rank::Money(_) | Rank::Small(_)));
            let is_first = |(rank, _): &(Rank, Said)| matches!(rank, Rank::First(_));
            let order = match (sums.count(), self.said.len()) {
                (0, _) | (_, 1) => "",
                _ if self.said.iter().any(is_first) => {
                    ": what did not come whole, then the largest sum"
                }
                _ => ", largest sum first",
            };
            view.head(format!("{heading}{order}"));
            view.cautions(self.into_said(show));
        }
        view.say("");
        if !end.next.is_empty() {
            view.say(format!("Next: {}", end.next));
        }
        if end.at_the_door {
            view.say("At the door, pay only through the carrier's own site.");
        }
        LAST.iter().for_each(|line| view.say(*line));
    }
}

/// How a screen ends.
pub(crate) struct End<'n> {
    /// What to do next.
    pub(crate) next: &'n str,
    /// Whether something is to be paid at the door.
    pub(crate) at_the_door: bool,
}

/// What a caution says, with what it is about, and what to do.
pub(crate) fn sentence(caution: &Caution) -> String {
    let about = if caution.about.is_empty() {
        String::new()
    } else {
        format!(" ({})", about_words(caution, NAMED))
    };
    let fact = format!("{}{about}.", caution.text.trim_end_matches('.'));
    format!("{fact} {}", caution.action).trim_end().to_owned()
}

/// What a caution is about: the first names, at most `most`, and how many more there are. Where these are parts and their parcels, the
/// parts come first and the parcels behind them: `Pale stem and Pale bar, from Northmoor`.
pub(crate) fn about_words(caution: &Caution, most: usize) -> String {
    let parts: Vec<&String> = caution
        .about
        .iter()
        .filter(|name| !caution.parcels.contains(name))
        .collect();
    match (caution.parcels.as_slice(), parts.as_slice()) {
        ([], _) | (_, []) => some(&caution.about, most),
        (parcels, parts) => {
            format!("{}, from {}", some(parts, most), some(parcels, most))
        }
    }
}

/// That something counted is disputed, or something that is not counted.
pub(crate) fn is_disputed(rows: &[Disputed]) -> String {
    let kinds = disputed_kinds(rows);
    let verb = if kinds.len() == 1 { "is" } else { "are" };
    let text = format!("{} {verb} disputed", list(&kinds, "and"));
    text.strip_prefix("the ")
        .map(|rest| format!("The {rest}"))
        .unwrap_or(text)
}

/// Whether a charge in dispute is counted and a relief in dispute frees of another: the one falls away and the other comes with what
/// is decided otherwise.
fn counted_and_freed(rows: &[Disputed]) -> bool {
    let freed = |row: &Disputed| row.kind.is_none() && !row.assembly;
    rows.iter().any(|row| row.counted && row.kind.is_some()) && rows.iter().any(freed)
}

/// Cautions as short lines, each with what it is about.
pub(crate) fn caution_lines(cautions: &[Caution]) -> Vec<String> {
    cautions
        .iter()
        .map(|caution| format!("{} [{}]", sentence(caution), caution.id))
        .collect()
}

/// Cautions as JSON; amounts are of the destination's money.
pub(super) fn cautions(cautions: &[Caution]) -> Vec<Value> {
    let amount = |stake: Stake| match stake {
        Stake::Money(amount) => Value::from(amount.amount().to_string()),
        Stake::Unknown => Value::from("unknown"),
        Stake::Nothing => Value::Null,
    };
    cautions
        .iter()
        .map(|c| serde_json::json!({"id": c.id, "text": c.text, "action": c.action, "about": c.about, "amount": amount(c.stake)}))
        .collect()
}
