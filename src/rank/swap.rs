//! What a proposal changes on the bike: what it replaces, what goes with that, what stays, and what is left bare.

use std::collections::BTreeSet;

use super::cure::Cure;
use super::proposal::Proposal;
use crate::book::{Book, Part, Role, Standing};
use crate::estimate::root;
use crate::landed::{Jurisdiction, counts};
use crate::units::{Grams, Mode, Overflow};
use crate::value::bench::{self, Bench};
use crate::value::doubt::Doubt;

/// A proposal put in place.
#[derive(Debug, Clone)]
pub(super) struct Swap<'a> {
    /// Build rows that it replaces, by name.
    pub(crate) replaced: Vec<&'a Part>,
    /// Build rows that go with those: in the box of one that is not bought now, or needed by one that goes.
    pub(crate) gone: Vec<&'a Part>,
    /// Rows on the bike afterwards.
    pub(crate) after: Vec<&'a Part>,
    /// Required places that were filled and are not any more.
    pub(crate) emptied: BTreeSet<&'a str>,
}

/// Puts a proposal in place.
pub(super) fn swap<'a>(
    proposal: &Proposal<'a>,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'a>,
) -> Swap<'a> {
    let build: Vec<&Part> = book.build().collect();
    let comes = proposal.parts();
    let replaced = replaced(proposal, &build, jurisdiction);
    let mut swap = Swap {
        replaced,
        gone: Vec::new(),
        after: Vec::new(),
        emptied: BTreeSet::new(),
    };
    swap.gone = unboxed(&swap.replaced, &build, proposal);
    swap.after = swap.left(&build, &comes);
    for orphan in orphans(&swap, &build, &comes) {
        let without = Swap {
            gone: swap.gone.iter().copied().chain([orphan]).collect(),
            ..swap.clone()
        };
        let after = without.left(&build, &comes);
        if Bench::lay(&after, jurisdiction)
            .required_empty()
            .is_subset(&Bench::lay(&swap.after, jurisdiction).required_empty())
        {
            swap = Swap { after, ..without };
        }
    }
    swap.gone.sort_by(|a, b| a.name.cmp(&b.name));
    swap.emptied = emptied(&swap, &build, &comes, jurisdiction);
    swap
}

/// Required places that a swap leaves bare. Where what comes fills every place of what goes there is none, as more is filled than before.
fn emptied<'a>(
    swap: &Swap<'a>,
    build: &[&'a Part],
    comes: &[&'a Part],
    jurisdiction: &Jurisdiction<'a>,
) -> BTreeSet<&'a str> {
    let filled = |place: &String| comes.iter().any(|row| row.places.contains(place));
    let mut off = build.iter().filter(|row| swap.is_off(row));
    if off.all(|row| row.places.iter().all(filled)) {
        return BTreeSet::new();
    }
    let bare = |rows: &[&'a Part]| Bench::lay(rows, jurisdiction).required_empty();
    bare(&swap.after)
        .difference(&bare(build))
        .copied()
        .collect()
}

/// Build rows that share a place with what comes; another offer of a part replaces that part and nothing else.
fn replaced<'a>(
    proposal: &Proposal<'a>,
    build: &[&'a Part],
    jurisdiction: &Jurisdiction<'a>,
) -> Vec<&'a Part> {
    let comes = proposal.parts();
    let same_part = |row: &&&Part| row.name == proposal.head.name;
    let mut found: Vec<&Part> =
        if proposal.head.role == Role::Rival && build.iter().any(|row| same_part(&row)) {
            build.iter().filter(same_part).copied().collect()
        } else {
            let claimed = bench::claimed(&comes, jurisdiction);
            let needed = |row: &Part| comes.iter().any(|part| part.needs.contains(&row.name));
            let shares = |row: &&&Part| {
                row.places
                    .iter()
                    .any(|place| claimed.contains(place.as_str()))
                    && !needed(row)
            };
            let stays = |row: &Part| {
                let beside = row
                    .places
                    .iter()
                    .any(|place| proposal.head.places.contains(place));
                beside && proposal.instead.is_some_and(|only| only.name != row.name)
            };
            build
                .iter()
                .filter(shares)
                .filter(|row| !stays(row))
                .copied()
                .collect()
        };
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// Rows in the boxes of rows that are not bought after all; what lies in a box that has been paid for stays.
fn unboxed<'a>(
    replaced: &[&'a Part],
    build: &[&'a Part],
    proposal: &Proposal<'_>,
) -> Vec<&'a Part> {
    let mut unbought: Vec<&str> = replaced
        .iter()
        .filter(|row| row.standing == Standing::ToOrder)
        .map(|row| row.name.as_str())
        .collect();
    unbought.retain(|name| !proposal.holds(name));
    let mut gone: Vec<&Part> = Vec::new();
    loop {
        let inside = build.iter().find(|row| {
            let holder = row.comes_with.as_deref();
            row.standing == Standing::Bundled
                && holder.is_some_and(|h| unbought.contains(&h))
                && !unbought.contains(&row.name.as_str())
        });
        let Some(row) = inside else { break };
        unbought.push(&row.name);
        if !replaced.iter().any(|other| other.name == row.name) {
            gone.push(row);
        }
    }
    gone
}

/// Rows still to be ordered that only rows which go have needed.
fn orphans<'a>(swap: &Swap<'a>, build: &[&'a Part], comes: &[&'a Part]) -> Vec<&'a Part> {
    let needs = |row: &&Part, name: &String| row.needs.contains(name);
    let goes = |row: &&Part| swap.is_off(row);
    let still = |name: &String| {
        build
            .iter()
            .filter(|row| !goes(row))
            .chain(comes)
            .any(|row| needs(row, name))
    };
    let mut found: Vec<&Part> = build
        .iter()
        .filter(|row| row.standing == Standing::ToOrder && !goes(row))
        .filter(|row| {
            build
                .iter()
                .filter(|other| goes(other))
                .any(|other| needs(other, &row.name))
                && !still(&row.name)
        })
        .copied()
        .collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

impl<'a> Swap<'a> {
    /// Whether a build row comes off.
    pub(super) fn is_off(&self, row: &Part) -> bool {
        self.replaced
            .iter()
            .chain(&self.gone)
            .any(|off| off.name == row.name)
    }

    /// Whether a build row is not bought after all: nothing has been paid for it, or for the box it would have come in.
    pub(super) fn is_unbought(&self, row: &Part, book: &Book) -> bool {
        match row.standing {
            Standing::ToOrder => self.is_off(row),
            Standing::Bundled => {
                let holder = row
                    .comes_with
                    .as_deref()
                    .and_then(|name| book.main_row(name));
                self.is_off(row)
                    && holder.is_some_and(|holder| {
                        holder.name != row.name && self.is_unbought(holder, book)
                    })
            }
            _ => false,
        }
    }

    fn left(&self, build: &[&'a Part], comes: &[&'a Part]) -> Vec<&'a Part> {
        build
            .iter()
            .filter(|row| !self.is_off(row))
            .chain(comes)
            .copied()
            .collect()
    }

    /// The grams that the proposal takes off; the error names a part whose mass is not known.
    pub(super) fn saved(
        &self,
        comes: &[&Part],
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<Grams, String> {
        let off: Vec<&Part> = self.replaced.iter().chain(&self.gone).copied().collect();
        let off = mass(&off, jurisdiction)?;
        let on = mass(comes, jurisdiction)?;
        off.minus(on).map_err(words)
    }
}

impl Swap<'_> {
    /// The grams that a scale will probably find saved, and their standard deviation, to a tenth; a part that only comes from
    /// elsewhere is the same part and cancels. None where nothing differs, or the tables have no range.
    pub(super) fn doubt(
        &self,
        comes: &[&Part],
        cures: &[Cure],
        (book, jurisdiction): (&Book, &Jurisdiction<'_>),
    ) -> Result<Option<(Grams, Grams)>, Overflow> {
        let off: Vec<&Part> = self
            .replaced
            .iter()
            .chain(&self.gone)
            .copied()
            .filter(|row| counts(row, jurisdiction))
            .collect();
        let on: Vec<&Part> = comes
            .iter()
            .copied()
            .filter(|row| counts(row, jurisdiction))
            .collect();
        let same = |row: &&&Part, others: &[&Part]| {
            others.iter().any(|other| {
                other.name == row.name
                    && other.total_mass() == row.total_mass()
                    && other.mass_kind == row.mass_kind
            })
        };
        let (old, new): (Vec<&Part>, Vec<&Part>) = (
            off.iter().filter(|row| !same(row, &on)).copied().collect(),
            on.iter().filter(|row| !same(row, &off)).copied().collect(),
        );
        if old.is_empty() && new.is_empty() {
            return Ok(None);
        }
        let Some((old, new)) =
            Doubt::of(&old, book, jurisdiction)?.zip(Doubt::of(&new, book, jurisdiction)?)
        else {
            return Ok(None);
        };
        let less = old.less(new.plus(Cure::doubt(cures)?)?)?;
        Ok(Some((
            Grams(less.expected.0.round_to(1, Mode::HalfUp)),
            Grams(root(less.variance, 1)),
        )))
    }
}

/// The mass of rows on the basis asked for. A piece in another's box without a mass lies in that part's, if that part is among them.
fn mass(rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Result<Grams, String> {
    let mut sum = Grams::ZERO;
    for row in rows.iter().filter(|row| counts(row, jurisdiction)) {
        let in_box = row
            .comes_with
            .as_ref()
            .is_some_and(|holder| rows.iter().any(|other| other.name == *holder));
        match row.total_mass() {
            Some(mass) => sum = sum.plus(mass).map_err(words)?,
            None if in_box => {}
            None => {
                return Err(format!(
                    "no mass is known for {}",
                    crate::text::words::quoted(&row.name)
                ));
            }
        }
    }
    Ok(sum)
}

fn words(overflow: Overflow) -> String {
    overflow.to_string()
}
