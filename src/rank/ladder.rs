//! The ladder: from the build as it is, one best next step after another by cost per kilogram, until a limit stops it.
//!
//! Every step is calculated anew by the engine on the build with the steps before, as parcels, limits and discounts are shared.
//! Where options stand apart this is the climb along the hull of cost and grams: each step is the best there is, and what two
//! others mixed would beat is never a step of its own accord. It is not a proof: a budget that is nearly used up may hold a
//! better set of whole options than the best steps one by one.
//!
//! It never steps back. What an earlier step took off is not offered again, and a step whose worth a later one undoes (a parcel
//! that a later step would have filled more cheaply) stays: each step is what somebody would buy next, having bought the ones
//! before. A better set of all options at once is what `plan` finds.

use super::base::Base;
use super::order::by_ratio;
use super::parcels::holds;
use super::proposal::Proposal;
use super::ranked::Ranked;
use super::survey::{Way, difference, ways, weigh};
use super::swap::Swap;
use crate::book::{Book, Part, Role, Standing};
use crate::landed::{Cautions, Jurisdiction, KnownParcels};
use crate::text::Problems;
use crate::units::{Dec, Grams, Overflow};
use crate::value::{Difference, Quadrant};

/// No ladder is longer.
const MOST_STEPS: usize = 40;

/// The best next steps.
#[derive(Debug, Clone)]
pub struct Ladder {
    /// The steps, in order.
    pub rungs: Vec<Rung>,
    /// Why it ends.
    pub stop: Stop,
}

/// One step.
#[derive(Debug, Clone)]
pub struct Rung {
    /// What is bought, calculated given the steps before.
    pub option: Ranked,
    /// The landed total after it, less what replaced pieces fetch.
    pub total: Dec,
    /// The mass of the bike after it.
    pub mass: Grams,
    /// Steps that would have been better for the money and did not fit the budget.
    pub passed_over: Vec<String>,
}

/// Why a ladder ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Stop {
    /// No option saves more grams that are sure to be there.
    NothingLeft,
    /// The next step costs more per kilogram than a kilogram is worth.
    Worth {
        /// The next step.
        next: String,
        /// What it costs for each kilogram saved.
        per_kg: Dec,
    },
    /// The mass limit is kept.
    Mass,
    /// The next step does not fit the budget, and no other does.
    Budget {
        /// The next step.
        next: String,
        /// What it adds.
        cost: Dec,
    },
    /// The most steps that are shown have been reached.
    Long,
}

impl Stop {
    /// Its word in the outputs.
    pub(crate) fn name(&self) -> &'static str {
        match self {
            Stop::NothingLeft => "nothing-left",
            Stop::Worth { .. } => "worth",
            Stop::Mass => "max-mass",
            Stop::Budget { .. } => "budget",
            Stop::Long => "long",
        }
    }
}

impl Ladder {
    /// All grams that the steps save.
    pub fn saved(&self) -> Result<Grams, Overflow> {
        Grams::total(self.rungs.iter().map(|rung| rung.option.difference.saved))
    }

    /// All money that the steps add.
    pub fn cost(&self) -> Result<Dec, Overflow> {
        Dec::total(self.rungs.iter().map(|rung| rung.option.difference.cost))
    }
}

/// A build on the way up: what is on the bike, what may still come, and what was paid for and lies beside it.
struct Ground {
    book: Book,
    sunk: Vec<Part>,
    total: Dec,
    mass: Grams,
}

/// Climbs from a book's build, whose mass is told.
pub(super) fn ladder(
    book: &Book,
    (jurisdiction, known): (&Jurisdiction<'_>, &KnownParcels),
    mass: Grams,
) -> Result<Ladder, Problems> {
    let owned: Vec<Part> = book.beside().cloned().collect();
    let mut ground = Ground {
        book: like(book, book.parts.clone()),
        sunk: owned,
        total: Dec::ZERO,
        mass,
    };
    ground.total = Base::new(&ground.book, &ground.sunk, (jurisdiction, known))?.landed;
    let mut rungs = Vec::new();
    while rungs.len() < MOST_STEPS {
        match step(&ground, jurisdiction, known)? {
            Ok((rung, next)) => {
                rungs.push(rung);
                ground = next;
            }
            Err(stop) => return Ok(Ladder { rungs, stop }),
        }
    }
    Ok(Ladder {
        rungs,
        stop: Stop::Long,
    })
}

/// The best next step, or why there is none. Only what is looked at as a step is weighed whole: of all others no more is needed than
/// what they cost and save.
fn step(
    ground: &Ground,
    jurisdiction: &Jurisdiction<'_>,
    known: &KnownParcels,
) -> Result<Result<(Rung, Ground), Stop>, Problems> {
    let base = Base::new(&ground.book, &ground.sunk, (jurisdiction, known))?;
    let mut steps: Vec<(Difference, Way<'_>)> = Vec::new();
    for (proposal, swap) in ways(&ground.book, jurisdiction, &mut Vec::new()) {
        let difference = difference(&proposal, &swap, &base, jurisdiction).filter(leads_up);
        steps.extend(difference.map(|difference| (difference, (proposal, swap))));
    }
    steps.sort_by(|(a, (one, _)), (b, (other, _))| by_ratio((a, one), (b, other)));
    let mut passed_over = Vec::new();
    for (_, (proposal, swap)) in steps {
        let weighed = weigh(
            &proposal,
            &swap,
            &base,
            jurisdiction,
            &mut Cautions::default(),
        );
        let Some(option) = weighed.ok().filter(|option| !option.doubtful) else {
            continue;
        };
        if let Some(stop) = stopped(&option, ground, jurisdiction)? {
            return Ok(Err(passed(&passed_over).unwrap_or(stop)));
        }
        let total = ground.total.plus(option.difference.cost)?;
        if option.difference.cost.is_positive()
            && jurisdiction.ask.budget.is_some_and(|budget| total > budget)
        {
            passed_over.push((option.title(), option.difference.cost));
            continue;
        }
        let mass = ground.mass.minus(option.difference.saved)?;
        let next = after(ground, &base, &proposal, &swap, total, mass);
        let passed_over = passed_over.into_iter().map(|(title, _)| title).collect();
        return Ok(Ok((
            Rung {
                option,
                total,
                mass,
                passed_over,
            },
            next,
        )));
    }
    Ok(Err(passed(&passed_over).unwrap_or(Stop::NothingLeft)))
}

fn passed(passed_over: &[(String, Dec)]) -> Option<Stop> {
    passed_over.first().map(|(next, cost)| Stop::Budget {
        next: next.clone(),
        cost: *cost,
    })
}

/// A step up takes grams off, or money at no grams.
fn leads_up(difference: &Difference) -> bool {
    matches!(difference.quadrant(), Quadrant::Better | Quadrant::TradeOff)
}

/// What stops a step that costs money.
fn stopped(
    option: &Ranked,
    ground: &Ground,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Stop>, Overflow> {
    let Some(per_kg) = option.difference.per_kg()? else {
        return Ok(None);
    };
    if jurisdiction
        .ask
        .max_mass
        .is_some_and(|limit| ground.mass <= limit)
    {
        return Ok(Some(Stop::Mass));
    }
    let too_dear = jurisdiction
        .ask
        .worth_per_kg
        .is_some_and(|worth| per_kg > worth);
    Ok(too_dear.then(|| Stop::Worth {
        next: option.title(),
        per_kg,
    }))
}

/// The ground after a step: what comes is on the bike, what was paid for and came off lies beside it.
fn after(
    ground: &Ground,
    base: &Base<'_>,
    proposal: &Proposal<'_>,
    swap: &Swap<'_>,
    total: Dec,
    mass: Grams,
) -> Ground {
    let comes = proposal.parts();
    let mut parts: Vec<Part> = Vec::new();
    for row in &swap.after {
        parts.push(if holds(&comes, row) {
            base.adopted(row)
        } else {
            (*row).clone()
        });
    }
    let stays = |row: &&Part| row.role != Role::Build && !holds(&comes, row);
    let others: Vec<&Part> = ground.book.parts.iter().filter(stays).collect();
    let main = |name: &str| {
        parts.iter().any(|p| p.name == name)
            || others
                .iter()
                .any(|p| p.name == name && p.role == Role::Option)
    };
    let open: Vec<Part> = others
        .iter()
        .filter(|row| row.role == Role::Option || main(&row.name))
        .map(|row| (*row).clone())
        .collect();
    parts.extend(open);
    let paid =
        |row: &&&Part| row.standing != Standing::Bundled && !swap.is_unbought(row, &ground.book);
    let off = swap
        .replaced
        .iter()
        .chain(&swap.gone)
        .filter(paid)
        .map(|row| (*row).clone());
    Ground {
        book: like(&ground.book, parts),
        sunk: ground.sunk.iter().cloned().chain(off).collect(),
        total,
        mass,
    }
}

/// A book of other parts.
fn like(book: &Book, parts: Vec<Part>) -> Book {
    Book {
        settings: book.settings.clone(),
        parts,
        sellers: book.sellers.clone(),
        parcels: book.parcels.clone(),
        discounts: book.discounts.clone(),
        unknowns: book.unknowns.clone(),
        ..Book::default()
    }
}
