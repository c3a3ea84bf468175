//! How near parcels are to limits of value, below them and above.

use super::show::Show;
use super::shown::ShownLanded;
use super::view::View;
use crate::landed::{Bill, ConsignmentState, Headroom, Landed};
use crate::units::{Dec, Mode, Shown};

/// How near parcels are to limits: a sentence for each limit on the screen, a line for each parcel behind `--more`.
pub(super) fn near_limits(landed: &ShownLanded<'_>, show: &Show, view: &mut View) {
    let all = || {
        let bills = landed.bills.iter();
        bills.flat_map(|bill| bill.limits.iter().map(move |limit| (bill.home, limit)))
    };
    let counting = |bill: &Bill, limit: &Headroom<Shown>| {
        limit.of_price && bill.kind != ConsignmentState::InHand && !limit.amount.is_zero()
    };
    let mut limits: Vec<(&str, Vec<&Headroom<Shown>>)> = Vec::new();
    for (_, limit) in all().filter(|(bill, limit)| counting(bill, limit)) {
        match limits.iter_mut().find(|(text, _)| *text == limit.text) {
            Some((_, parcels)) => parcels.push(limit),
            None => limits.push((&limit.text, vec![limit])),
        }
    }
    let mut lines = Vec::new();
    for (text, parcels) in &limits {
        let (above, below): (Vec<&&Headroom<Shown>>, Vec<_>) =
            parcels.iter().partition(|limit| limit.left.is_negative());
        let mut said = Vec::new();
        for (parcels, word) in [(below, "below"), (above, "above")] {
            let Some(nearest) = parcels.iter().map(|limit| limit.left.abs()).min() else {
                continue;
            };
            said.push(match parcels.len() {
                1 => format!("1 parcel is {} {word}", show.amount(nearest)),
                many => format!(
                    "{many} parcels are {word}, the nearest by {}",
                    show.amount(nearest)
                ),
            });
        }
        lines.push(format!("{text} limit: {}.", said.join("; ")));
    }
    let which = if lines.len() == 1 { "it" } else { "them" };
    if let Some(last) = lines.last_mut() {
        last.push_str(&format!(" Never split orders to get under {which}."));
    }
    lines.into_iter().for_each(|line| view.say(line));
    let mut more = View::default();
    more.notes(
        all()
            .filter_map(|(bill, limit)| limit_line(bill, limit, landed.home, show))
            .collect(),
    );
    view.more(more);
}

/// A limit further away than this many percent is not crossed by a move of the exchange; common practice, no source.
const WORTH_SAYING: u32 = 25;

/// `3.20 below the 135.00 limit; a rate move of 2.4 % crosses it`.
fn limit_line(
    bill: &Bill,
    limit: &Headroom<Shown>,
    landed: &Landed,
    show: &Show,
) -> Option<String> {
    if bill.kind == ConsignmentState::InHand || limit.amount.is_zero() || !limit.of_price {
        return None;
    }
    let left = limit.left.abs();
    let distance = if show.currency == landed.currency {
        show.amount(left)
    } else {
        show.money(left)
    };
    if limit.left.is_negative() {
        return Some(format!(
            "{}: {distance} above the {} limit (`{}`)",
            bill.id, limit.text, limit.id
        ));
    }
    let mut line = format!(
        "{}: {distance} below the {} limit (`{}`)",
        bill.id, limit.text, limit.id
    );
    let foreign = bill.paid_in != landed.currency;
    let percent = limit
        .left
        .times(Dec::HUNDRED)
        .and_then(|left| left.amount().over(limit.value.amount()))
        .ok()
        .filter(|_| foreign && limit.value.is_positive());
    if let Some(percent) = percent.filter(|p| *p < Dec::from(WORTH_SAYING)) {
        line.push_str(&format!(
            "; a rate move of {} % crosses it",
            percent.round_to(1, Mode::HalfUp).fixed(1)
        ));
    }
    Some(line)
}
