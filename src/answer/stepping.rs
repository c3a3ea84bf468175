//! The commands that write a step down: the edits that a sound book gets, and the words about the book that has them.

use super::case::{show, sound};
use super::{Answer, Answered, Case};
use crate::book::Part;
use crate::book::edit::{Edit, Find};
use crate::landed::Jurisdiction;
use crate::plan::{Planned, Plans, Watch, Wishes, plan as search};
use crate::report;
use crate::steps::{
    self, Arrival, Claim, Edits, Leads, OnScale, Placed, Received, Seen, Sums, Taken,
};
use crate::text::{Diagnostic, Problems};
use crate::units::{Date, Dec, Grams, Overflow};

/// A step that is to be written down.
pub(crate) enum Deed<'a> {
    /// What the scale said.
    Weigh {
        part: &'a str,
        grams: &'a str,
        piece: Option<&'a str>,
        pair: bool,
    },
    /// The price of an offer now.
    Seen {
        part: &'a str,
        price: &'a str,
        seller: Option<&'a str>,
    },
    /// An upgrade, or another offer, that goes into the build.
    Take {
        part: &'a str,
        seller: Option<&'a str>,
    },
    /// A parcel that came.
    Receive {
        parcel: &'a str,
        missing: &'a [String],
        damaged: &'a [String],
    },
    /// The plan that is sought goes into the build.
    Plan(Wishes),
    /// A seller's parcel that was ordered, and what was paid.
    Placed { parcel: &'a str, paid: &'a str },
    /// An order that does not come.
    Cancelled { parcel: &'a str },
}

/// What was so before a step, as far as it is told afterwards.
pub(crate) enum Was {
    /// The weight of the bike.
    Weighed(Grams),
    /// The offer, and what its price led to.
    Priced(Box<Part>, Leads),
    /// What the build came to, and what `rank` foretold of the step.
    Built(Sums, Box<Taken>),
    /// What the build came to, and what came on which day.
    Came(Sums, Box<Received>, Date),
    /// What was planned.
    Planned(Box<Plans>),
    /// What was ordered.
    Placed(Sums, Box<Placed>),
    /// How many rows are to be ordered again.
    Cancelled(usize),
    /// No plan keeps the limits, for this reason.
    Nothing(Box<Diagnostic>),
}

/// The edits that write a step down, and what was so before it.
pub(crate) fn wished(
    case: &Case,
    what: &Deed<'_>,
    date: Date,
    watch: &dyn Watch,
) -> Result<(Edits, Was), Problems> {
    let (mut edits, was) = in_any_order(case, what, date, watch)?;
    // from below, so that a cell of several lines moves no row that is still to be changed
    edits.sort_by_key(|(table, edit)| {
        let line = match edit {
            Edit::Set(Find::Line(line), _) | Edit::Remove(Find::Line(line)) => *line,
            _ => 0,
        };
        (*table, std::cmp::Reverse(line))
    });
    Ok((edits, was))
}

fn in_any_order(
    case: &Case,
    what: &Deed<'_>,
    date: Date,
    watch: &dyn Watch,
) -> Result<(Edits, Was), Problems> {
    let jurisdiction = Jurisdiction::open(&case.tables, &case.ask)?;
    sound(case, &jurisdiction)?;
    let book = &case.book;
    if matches!(what, Deed::Placed { .. } | Deed::Receive { .. }) {
        in_its_own_money(case)?;
    }
    match what {
        Deed::Weigh {
            part,
            grams,
            piece,
            pair,
        } => {
            let said = OnScale {
                part,
                grams,
                piece: *piece,
                pair: *pair,
                date,
            };
            let edits = steps::weigh(book, &said, case.ask.basis)?;
            Ok((edits, Was::Weighed(Sums::of(book, &jurisdiction)?.mass)))
        }
        Deed::Seen {
            part,
            price,
            seller,
        } => {
            let wish = Seen {
                part,
                price,
                seller: *seller,
                date,
            };
            let edits = steps::seen(book, &wish)?;
            let row = steps::offer(book, part, *seller)?;
            let leads = steps::leads(book, row, &jurisdiction)?;
            Ok((edits, Was::Priced(Box::new(row.clone()), leads)))
        }
        Deed::Take { part, seller } => {
            let before = Sums::of(book, &jurisdiction)?;
            let (edits, taken) = steps::take(book, &jurisdiction, part, *seller)?;
            Ok((edits, Was::Built(before, Box::new(taken))))
        }
        Deed::Receive {
            parcel,
            missing,
            damaged,
        } => {
            let came = Arrival {
                parcel,
                missing,
                damaged,
                date,
            };
            let before = Sums::of(book, &jurisdiction)?;
            let (edits, received) = steps::receive(book, &jurisdiction, &came)?;
            Ok((edits, Was::Came(before, Box::new(received), date)))
        }
        Deed::Placed { parcel, paid } => {
            let before = Sums::of(book, &jurisdiction)?;
            // codes, rates and law are those of the day on which it was ordered
            let mut ask = case.ask.clone();
            ask.date = date;
            let then = Jurisdiction::open(&case.tables, &ask)?;
            let (edits, placed) = steps::placed(book, &then, (parcel, paid), date)?;
            Ok((edits, Was::Placed(before, Box::new(placed))))
        }
        Deed::Cancelled { parcel } => {
            let (edits, rows) = steps::cancelled(book, parcel)?;
            Ok((edits, Was::Cancelled(rows)))
        }
        Deed::Plan(wishes) => match search(book, &jurisdiction, wishes, watch)? {
            Planned::Nothing(none) => Ok((Edits::new(), Was::Nothing(Box::new(none.reason)))),
            Planned::Found(plans) => {
                let plan = plans.plans.last();
                let plan = plan.ok_or_else(|| Diagnostic::defect("a search found no plan"))?;
                Ok((steps::plan(book, plan)?, Was::Planned(plans)))
            }
        },
    }
}

/// Amounts are written in the money of the book's own destination: another one that is only asked about would put its money there.
fn in_its_own_money(case: &Case) -> Result<(), Diagnostic> {
    let (own, asked) = (case.book.settings.destination, case.ask.to);
    let Some(own) = own.filter(|own| *own != asked) else {
        return Ok(());
    };
    let what = format!("the book is delivered to {own}, and what was paid is written in its money");
    Err(Diagnostic::error(what).help("leave `--to` out, or change `destination` in `settings.csv`"))
}

/// The build must come to what was foretold of it, to the penny; where it does not, nothing is written.
fn agree(found: Dec, foretold: Dec) -> Result<(), Problems> {
    if found == foretold {
        return Ok(());
    }
    let help = format!("it would land at {found}, and {foretold} was foretold");
    Err(
        Diagnostic::defect("the build would not come to what was foretold of it")
            .note(help)
            .into(),
    )
}

/// The words about a step that a book has.
pub(crate) fn done(
    case: &Case,
    jurisdiction: &Jurisdiction<'_>,
    what: &Deed<'_>,
    was: &Was,
) -> Answered {
    let book = &case.book;
    let step = match (what, was) {
        (Deed::Weigh { part, .. }, Was::Weighed(before)) => {
            let after = Sums::of(book, jurisdiction)?.mass;
            report::weighed_step(book, part, (*before, after), case.ask.max_mass)?
        }
        (Deed::Seen { part, seller, .. }, Was::Priced(old, before)) => {
            let row = steps::offer(book, part, *seller)?;
            let after = steps::leads(book, row, jurisdiction)?;
            let show = show(case, jurisdiction.currency())?;
            report::seen_step((old, row), (before, &after), &show)?
        }
        (Deed::Take { .. }, Was::Built(before, taken)) => {
            let after = Sums::of(book, jurisdiction)?;
            let show = show(case, jurisdiction.currency())?;
            agree(after.landed, taken.foretold()?)?;
            report::taken_step(taken, (*before, after), &case.ask, &show)?
        }
        (Deed::Receive { .. }, Was::Came(before, received, day)) => {
            let after = Sums::of(book, jurisdiction)?;
            let show = show(case, jurisdiction.currency())?;
            let claim = |part: &String| steps::claim(book, jurisdiction, part, *day).transpose();
            let claims: Result<Vec<Claim>, Overflow> =
                received.faults.iter().filter_map(claim).collect();
            report::received_step(received, (*before, after), (&claims?, *day), &show)?
        }
        (Deed::Plan(_), Was::Planned(plans)) => {
            let after = Sums::of(book, jurisdiction)?;
            let show = show(case, jurisdiction.currency())?;
            let tables = report::tables_json(jurisdiction, &case.ask);
            let plan = plans.plans.last().map_or(after.landed, |plan| plan.landed);
            agree(after.landed, plan)?;
            report::planned_step(plans, after, (&case.ask, &tables), &show)?
        }
        (Deed::Placed { .. }, Was::Placed(before, placed)) => {
            let landed = (before.landed, Sums::of(book, jurisdiction)?.landed);
            report::placed_step(placed, landed, &show(case, jurisdiction.currency())?)?
        }
        (Deed::Cancelled { parcel }, Was::Cancelled(rows)) => {
            let landed = Sums::of(book, jurisdiction)?.landed;
            report::cancelled_step(parcel, *rows, landed, &show(case, jurisdiction.currency())?)
        }
        (_, Was::Nothing(reason)) => return Err((**reason).clone().into()),
        _ => return Err(Diagnostic::defect("a step was taken for another").into()),
    };
    Ok(Answer {
        view: report::step_view(&step),
        json: step.json,
    })
}
