//! The order of options: what beats what, what stands last, and one order of all, whatever the order of rows.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use super::proposal::Proposal;
use super::ranked::Ranked;
use super::swap::Swap;
use crate::landed::Jurisdiction;
use crate::units::{Dec, Overflow};
use crate::value::bench;
use crate::value::{Difference, Point, frontier};

/// The places an option lays claim to: two that share one exclude each other.
type Claims<'a> = BTreeSet<&'a str>;

/// Options in their order, each with what beats it.
pub(super) fn ordered(
    options: Vec<(Ranked, Proposal<'_>, Swap<'_>)>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Ranked>, Overflow> {
    let claims: Vec<Claims<'_>> = options
        .iter()
        .map(|(_, proposal, _)| bench::claimed(&proposal.parts(), jurisdiction))
        .collect();
    let mut options: Vec<Ranked> = options.into_iter().map(|(ranked, ..)| ranked).collect();
    mark_beaten(&mut options, &claims);
    mark_standing(&mut options, &claims)?;
    sort(&mut options)?;
    Ok(options)
}

fn beats(one: &Difference, other: &Difference) -> bool {
    one.cost <= other.cost
        && one.saved >= other.saved
        && (one.cost < other.cost || one.saved > other.saved)
}

/// Names the best of the options for a shared place that beat one on both counts. One that a doubtful option beats stands last
/// with it, so that nothing stands above what beats it.
fn mark_beaten(options: &mut [Ranked], claims: &[Claims<'_>]) {
    let all: Vec<(String, Difference, bool)> = options
        .iter()
        .map(|option| (option.title(), option.difference, option.doubtful))
        .collect();
    for (at, option) in options.iter_mut().enumerate() {
        let rivals = all
            .iter()
            .zip(claims)
            .enumerate()
            .filter(|(other, (_, places))| {
                *other != at && claims.get(at).is_some_and(|own| !own.is_disjoint(places))
            });
        let better: Vec<_> = rivals
            .map(|(_, (rival, _))| rival)
            .filter(|(_, difference, _)| beats(difference, &option.difference))
            .collect();
        option.last = option.doubtful || better.iter().any(|(_, _, doubtful)| *doubtful);
        let best = better.into_iter().min_by(|(name, a, _), (other, b, _)| {
            a.cost
                .cmp(&b.cost)
                .then(b.saved.cmp(&a.saved))
                .then(name.cmp(other))
        });
        option.beaten_by = best.map(|(name, ..)| name.clone());
    }
}

/// Finds how each stands among the options for its places and keeping what is there.
fn mark_standing(options: &mut [Ranked], claims: &[Claims<'_>]) -> Result<(), Overflow> {
    let point = |difference: &Difference| Point {
        name: String::new(),
        cost: difference.cost,
        effect: difference.saved.0,
    };
    let keep = Point {
        name: String::new(),
        cost: Dec::ZERO,
        effect: Dec::ZERO,
    };
    let all: Vec<Point> = options
        .iter()
        .map(|option| point(&option.difference))
        .collect();
    for (option, own) in options.iter_mut().zip(claims) {
        let mut set = vec![point(&option.difference), keep.clone()];
        set.extend(
            all.iter()
                .zip(claims)
                .filter(|(_, places)| !own.is_disjoint(places))
                .map(|(other, _)| other.clone()),
        );
        if let Some(status) = frontier(&set)?.first() {
            option.standing = status.standing;
        }
    }
    Ok(())
}

/// A total order: those that stand last after all others; by net benefit where a worth is told, else by the differences; then by
/// name, seller and company, never by the order of rows.
fn sort(options: &mut [Ranked]) -> Result<(), Overflow> {
    let mut overflow = None;
    options.sort_by(|a, b| {
        compared(a, b).unwrap_or_else(|e| {
            overflow = Some(e);
            Ordering::Equal
        })
    });
    overflow.map_or(Ok(()), Err)
}

/// The order of two options.
fn compared(a: &Ranked, b: &Ranked) -> Result<Ordering, Overflow> {
    let by_worth = b.net_benefit.cmp(&a.net_benefit);
    let by_difference = a.difference.rank(&b.difference)?;
    Ok(a.last
        .cmp(&b.last)
        .then(by_worth)
        .then(by_difference)
        .then_with(|| of_option(a).cmp(&of_option(b))))
}

/// What tells apart options that rank alike: name, seller, the row replaced, company and line of the book.
type Named<'a> = (
    &'a str,
    Option<&'a str>,
    Option<&'a str>,
    Vec<&'a str>,
    String,
);

fn of_option(option: &Ranked) -> Named<'_> {
    (
        &option.part,
        option.seller.as_deref(),
        option.instead.as_deref(),
        option.with.iter().map(String::as_str).collect(),
        option.row.clone(),
    )
}

fn of_proposal<'a>(proposal: &Proposal<'a>) -> Named<'a> {
    let head = proposal.head;
    (
        &head.name,
        head.seller.as_deref(),
        proposal.instead.map(|row| row.name.as_str()),
        proposal.with.iter().map(|row| row.name.as_str()).collect(),
        head.at.line().to_string(),
    )
}

/// The order of two proposals by cost per kilogram, whatever a kilogram is worth: what gives nothing up first, then as options.
pub(super) fn by_ratio(
    (a, one): (&Difference, &Proposal<'_>),
    (b, other): (&Difference, &Proposal<'_>),
) -> Ordering {
    // What is too large to be compared is left where it is.
    let Ok(by_difference) = a.rank(b) else {
        return Ordering::Equal;
    };
    by_difference.then_with(|| of_proposal(one).cmp(&of_proposal(other)))
}
