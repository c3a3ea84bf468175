//! Everything that may be proposed for one build, each proposal weighed.

use std::collections::BTreeSet;

use super::base::Base;
use super::cure::Cure;
use super::marginal::Marginal;
use super::proposal::Proposal;
use super::ranked::{Ranked, Unranked};
use super::swap::{Swap, swap};
use crate::book::{self, Book, Part, Role};
use crate::estimate::saves;
use crate::landed::{Cautions, Jurisdiction, on_the_bike};
use crate::text::words::list;
use crate::units::Grams;
use crate::value::bench::{self, Bench};
use crate::value::{Difference, Quadrant, Standing, fit, pieces};

/// At most this many ways to fill what one option empties.
const MOST_WAYS: usize = 24;

/// Everything that may be proposed for one build, weighed.
pub(super) struct Survey<'a> {
    /// Options with what they propose, and how they change the bike.
    pub(crate) options: Vec<(Ranked, Proposal<'a>, Swap<'a>)>,
    /// Those that do not fit.
    pub(crate) unfit: Vec<Unranked>,
    /// Those that cannot be ranked.
    pub(crate) left_out: Vec<Unranked>,
    /// What must be said.
    pub(crate) cautions: Cautions,
}

/// Weighs everything that may be proposed for a build.
pub(super) fn survey<'a>(
    book: &'a Book,
    base: &Base<'a>,
    jurisdiction: &'a Jurisdiction<'a>,
) -> Survey<'a> {
    let mut found = Survey {
        options: Vec::new(),
        unfit: Vec::new(),
        left_out: Vec::new(),
        cautions: Cautions::default(),
    };
    for (proposal, swap) in ways(book, jurisdiction, &mut found.left_out) {
        let head = proposal.head;
        match weigh(&proposal, &swap, base, jurisdiction, &mut found.cautions) {
            Ok(ranked) => found.options.push((ranked, proposal, swap)),
            Err(Refused::Unfit(reason)) => found.unfit.push(unranked(head, reason)),
            Err(Refused::Unknown(reason)) => found.left_out.push(unranked(head, reason)),
        }
    }
    found
}

/// Everything that may be proposed for a build, each once, with what cannot be.
pub(super) fn ways<'a>(
    book: &'a Book,
    jurisdiction: &'a Jurisdiction<'a>,
    left_out: &mut Vec<Unranked>,
) -> Vec<Way<'a>> {
    let mut seen: BTreeSet<Vec<(String, String)>> = BTreeSet::new();
    let mut found = Vec::new();
    for head in heads(book, jurisdiction, left_out) {
        let (ways, unmet) = proposals(head, book, jurisdiction);
        left_out.extend(unmet);
        let new = |(proposal, _): &Way<'_>| seen.insert(proposal.key());
        found.extend(ways.into_iter().filter(new));
    }
    found
}

/// What a proposal costs and saves, where it can be told.
pub(super) fn difference(
    proposal: &Proposal<'_>,
    swap: &Swap<'_>,
    base: &Base<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Difference> {
    let saved = saved(proposal, swap, jurisdiction).ok()?;
    let together = base.together(proposal, swap).ok()?;
    let digits = jurisdiction.currency().digits();
    Some(Difference::new(together, saved, digits))
}

/// What may be proposed, by name and seller: options with a price of their own, and other offers of parts still to be ordered.
fn heads<'a>(
    book: &'a Book,
    jurisdiction: &Jurisdiction<'a>,
    left_out: &mut Vec<Unranked>,
) -> Vec<&'a Part> {
    let mut heads: Vec<&Part> = Vec::new();
    for part in book
        .offers()
        .filter(|part| part.standing != book::Standing::Bundled)
    {
        let main = book.main_row(&part.name).unwrap_or(part);
        let only_needed = book
            .parts
            .iter()
            .any(|other| other.needs.contains(&part.name));
        if !on_the_bike(part, jurisdiction) && only_needed {
            continue;
        }
        if !on_the_bike(part, jurisdiction) {
            left_out.push(unranked(
                part,
                "tools, fluids, shop work and spares save no grams".to_owned(),
            ));
        } else if part.role == Role::Rival
            && main.role == Role::Build
            && main.standing != book::Standing::ToOrder
        {
            left_out.push(unranked(
                part,
                format!("the part is `{}` already", main.standing.name()),
            ));
        } else if !(only_needed
            && main.role == Role::Option
            && swap(&Proposal::of(part, book), book, jurisdiction)
                .replaced
                .is_empty())
        {
            heads.push(part);
        }
    }
    put_in_order(&mut heads);
    heads
}

/// Orders parts by what they say, so that the order of their rows changes nothing unless they are alike.
fn put_in_order(parts: &mut [&Part]) {
    parts.sort_by_key(|part| {
        (
            part.name.clone(),
            part.role,
            part.seller.clone(),
            part.price,
            part.at.line().to_string(),
        )
    });
}

/// A proposal, and how it changes the bike.
pub(super) type Way<'a> = (Proposal<'a>, Swap<'a>);

/// Why a proposal cannot be: it empties a place that nothing fills.
fn left_empty(swap: &Swap<'_>, place: &str) -> String {
    let is_set = |row: &&&Part| row.places.len() > 1 && row.places.iter().any(|own| own == place);
    let how = match swap.replaced.iter().find(is_set) {
        Some(set) => format!("; {}", pieces::split_words(set)),
        None => String::new(),
    };
    format!("it leaves `{place}` empty, and no option fills that{how}")
}

/// The proposals that a head begins with: itself, or itself in the place of each row that has as many pieces; or why there is none.
fn begun<'a>(
    head: &'a Part,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'a>,
) -> Result<Vec<Proposal<'a>>, String> {
    if let Some(reason) = pieces::fewer(head, book, jurisdiction) {
        return Err(reason);
    }
    let build: Vec<&Part> = book.build().collect();
    let same = head.role == Role::Rival && build.iter().any(|row| row.name == head.name);
    let short = pieces::short(head, &build, jurisdiction).filter(|_| !same);
    let of = |row| Proposal {
        instead: row,
        ..Proposal::of(head, book)
    };
    match short {
        None => Ok(vec![of(None)]),
        Some(short) if short.instead.is_empty() => Err(short.words()),
        Some(short) => Ok(short.instead.into_iter().map(Some).map(of).collect()),
    }
}

/// A head with what fills the places it empties, in every way the options allow.
fn proposals<'a>(
    head: &'a Part,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'a>,
) -> (Vec<Way<'a>>, Option<Unranked>) {
    let mut open = match begun(head, book, jurisdiction) {
        Ok(open) => open,
        Err(reason) => return (Vec::new(), Some(unranked(head, reason))),
    };
    let (mut whole, mut bare): (Vec<Way<'_>>, Option<String>) = (Vec::new(), None);
    while let Some(mut proposal) = open.pop() {
        let swap = swap(&proposal, book, jurisdiction);
        let mut emptied = swap.emptied.iter().copied();
        let Some(place) = emptied.find(|place| !proposal.cures(place)) else {
            // what an option brings after all needs no usual piece
            let is_bare = |cure: &Cure| swap.emptied.contains(cure.place.as_str());
            proposal.cures.retain(is_bare);
            whole.push((proposal, swap));
            continue;
        };
        let fillers = fillers(&proposal, place, book, jurisdiction);
        if fillers.is_empty() {
            match Cure::of(place, jurisdiction) {
                Some(cure) => open.push(proposal.cured(cure)),
                None => bare = Some(left_empty(&swap, place)),
            }
        }
        open.extend(
            fillers
                .into_iter()
                .take(MOST_WAYS)
                .map(|filler| proposal.and(filler, book)),
        );
        if whole.len() + open.len() > MOST_WAYS {
            break;
        }
    }
    let unmet = bare.filter(|_| whole.is_empty());
    (whole, unmet.map(|reason| unranked(head, reason)))
}

/// Options that fill a place and lay no claim to one that is claimed already.
fn fillers<'a>(
    proposal: &Proposal<'a>,
    place: &str,
    book: &'a Book,
    jurisdiction: &Jurisdiction<'a>,
) -> Vec<&'a Part> {
    let claimed = bench::claimed(&proposal.parts(), jurisdiction);
    let free = |row: &&Part| {
        bench::claimed(&Proposal::of(row, book).parts(), jurisdiction).is_disjoint(&claimed)
    };
    let fills = |row: &&Part| {
        row.places.iter().any(|own| own == place) && row.standing != book::Standing::Bundled
    };
    let mut found: Vec<&Part> = book.options().filter(fills).filter(free).collect();
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

/// The grams that a proposal takes off, less those of usual pieces; the error names a part whose mass is not known.
fn saved(
    proposal: &Proposal<'_>,
    swap: &Swap<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Grams, String> {
    let saved = swap.saved(&proposal.parts(), jurisdiction)?;
    Cure::grams(&proposal.cures)
        .and_then(|usual| saved.minus(usual))
        .map_err(|overflow| overflow.to_string())
}

/// Why a proposal is not ranked.
pub(super) enum Refused {
    /// It does not fit.
    Unfit(String),
    /// What it costs or saves cannot be told.
    Unknown(String),
}

/// Weighs one proposal: does it fit, what does it save, what does it add to the bill.
pub(super) fn weigh(
    proposal: &Proposal<'_>,
    swap: &Swap<'_>,
    base: &Base<'_>,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<Ranked, Refused> {
    let book = base.book;
    unfit(proposal, swap, jurisdiction).map_or(Ok(()), |reason| Err(Refused::Unfit(reason)))?;
    let comes = proposal.parts();
    let saved = saved(proposal, swap, jurisdiction).map_err(Refused::Unknown)?;
    let Marginal {
        alone,
        together,
        resale,
        resale_unknown,
        disputed,
        bills,
        cautions: own,
    } = base.marginal(proposal, swap).map_err(Refused::Unknown)?;
    for caution in &own {
        cautions.say(caution.id, caution, &[&proposal.head.name]);
    }
    let difference = Difference::new(together, saved, jurisdiction.currency().digits());
    let worth = jurisdiction
        .ask
        .worth_per_kg
        .map(|worth| difference.net_benefit(worth))
        .transpose();
    let doubt = swap
        .doubt(&comes, &proposal.cures, (book, jurisdiction))
        .map_err(|overflow| Refused::Unknown(overflow.to_string()))?;
    let chance = doubt
        .filter(|_| !saved.0.is_zero())
        .map(|(expected, deviation)| saves(expected.0, deviation.0));
    let doubtful = difference.quadrant() == Quadrant::TradeOff
        && doubt.is_some_and(|(expected, deviation)| expected < deviation);
    let names = |rows: &[&Part]| rows.iter().map(|row| row.name.clone()).collect::<Vec<_>>();
    let head = proposal.head;
    Ok(Ranked {
        part: head.name.clone(),
        seller: head.seller.clone(),
        offer: head.role == Role::Rival,
        instead: proposal.instead.map(|row| row.name.clone()),
        with: names(&proposal.with),
        needs: names(&proposal.needs),
        bundled: names(&proposal.bundled),
        usual: proposal.cures.clone(),
        replaces: names(&swap.replaced),
        gone: names(&swap.gone),
        alone,
        together,
        resale,
        notes: notes(proposal, swap, jurisdiction),
        resale_unknown,
        disputed,
        bills,
        difference,
        net_benefit: worth.map_err(|overflow| Refused::Unknown(overflow.to_string()))?,
        expected: doubt,
        chance,
        doubtful,
        last: doubtful,
        standing: Standing::Frontier,
        beaten_by: None,
        row: head.at.line().to_string(),
        after: swap.after.iter().map(|row| row.at.number()).collect(),
        labels: base.labels(&comes),
    })
}

/// The parts that are on the bike after a swap.
fn bike_after<'a>(swap: &Swap<'a>, jurisdiction: &Jurisdiction<'_>) -> Vec<&'a Part> {
    swap.after
        .iter()
        .filter(|row| on_the_bike(row, jurisdiction))
        .copied()
        .collect()
}

/// Why a proposal does not fit: a joint of which one side comes with it, or a place that it fills twice on its own.
fn unfit(
    proposal: &Proposal<'_>,
    swap: &Swap<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<String> {
    let own = |part: &&&Part| proposal.holds(&part.name);
    let on_bike = bike_after(swap, jurisdiction);
    let clashes = fit::clashes(&on_bike, jurisdiction);
    let clashing: Vec<String> = clashes
        .iter()
        .filter(|clash| clash.parts.iter().any(|p| own(&p)))
        .map(fit::Clash::short)
        .collect();
    if !clashing.is_empty() {
        return Some(clashing.join("; "));
    }
    let doubled = Bench::lay(&on_bike, jurisdiction).doubled();
    let twice = doubled
        .iter()
        .find(|doubled| doubled.rows.iter().any(|row| own(&row)));
    twice.map(|doubled| format!("it fills `{}` twice: {}", doubled.place, doubled.why))
}

fn notes(proposal: &Proposal<'_>, swap: &Swap<'_>, jurisdiction: &Jurisdiction<'_>) -> Vec<String> {
    let mut notes = Vec::new();
    let on_bike = bike_after(swap, jurisdiction);
    for unknown in fit::unknowns(&on_bike, jurisdiction)
        .into_iter()
        .filter(|unknown| unknown.row.blocks)
    {
        if proposal.holds(&unknown.said.name) || proposal.holds(&unknown.silent.name) {
            notes.push(unknown.words());
        }
    }
    let pieces = |rows: &[&Part], place: &String| -> u64 {
        rows.iter()
            .filter(|row| row.places.contains(place))
            .map(|row| u64::from(row.quantity))
            .sum()
    };
    for place in &proposal.head.places {
        let (old, new) = (
            pieces(&swap.replaced, place),
            pieces(&[proposal.head], place),
        );
        if new < old {
            notes.push(format!(
                "{new} stands where {old} were: a pair sold as one is 1, two sold singly are 2"
            ));
        }
    }
    notes
}

fn unranked(head: &Part, reason: String) -> Unranked {
    Unranked {
        part: head.name.clone(),
        seller: head.seller.clone(),
        reason,
    }
}

impl Ranked {
    /// The option with who sells it, where it is another offer, which row it replaces where that is open, and what must come
    /// with it, what has only usual figures last.
    pub fn title(&self) -> String {
        let seller = self
            .seller
            .as_ref()
            .filter(|_| self.offer)
            .map(|seller| format!(" from {seller}"))
            .unwrap_or_default();
        // they stand last, so that the first tells what they are
        let usual = self.usual.iter().enumerate();
        let usual = usual.map(|(at, cure)| match at {
            0 => format!("usual {}", cure.text),
            _ => cure.text.clone(),
        });
        let with = self.with.iter().chain(&self.needs).cloned();
        let with: Vec<String> = with.chain(usual).collect();
        let with = if with.is_empty() {
            String::new()
        } else {
            format!(" with {}", list(&with, "and"))
        };
        let instead = self
            .instead
            .as_ref()
            .map(|row| format!(" in place of {row}"))
            .unwrap_or_default();
        format!("{}{seller}{instead}{with}", self.part)
    }
}
