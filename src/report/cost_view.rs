//! `cost` as one screen: the answer, the parcels with their charges, the room to each limit, the parts, what to look at before ordering.

use super::build_limits::{limits_of_the_build, totals};
use super::cautions::{End, Warnings, is_disputed};
use super::near_limits::near_limits;
use super::parcel_table::parcels_of;
use super::part_table::by_part;
use super::show::Show;
use super::shown::{ShownBill, ShownLanded, shown};
use super::trail_view::trail_of;
use super::view::{Grid, View};
use crate::landed::{ConsignmentState, Jurisdiction, Landed, Question};
use crate::text::words::{few, list};
use crate::units::{Dec, Mode, Overflow, ShownMoney};
use crate::value::scale::OnScale;

/// The view of a landed cost; `trail` adds how every amount came about; `apart`, for CSV, gives every charge a column of its own and
/// what the sums lack a table of its own, as there the sentences are not written. `empty` are the required places that nothing fills,
/// as of a bike without them nobody knows how far it is from its limit of weight.
pub fn cost_view(
    landed: &Landed,
    ask: &Question,
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
    (trail, apart): (bool, bool),
    (scale, empty): (Option<&OnScale>, &[String]),
) -> Result<View, Overflow> {
    let mut view = View::default();
    let bills = &landed.bills;
    let lacks = super::lacking::grid(landed);
    let landed = &shown(landed, show)?;
    view.answer(answer(landed, show)?);
    view.say(to_pay(landed, show));
    limits_of_the_build(landed, ask, show, (scale, empty), &mut view)?;
    view.table(parcels_of(landed, show, apart)?);
    near_limits(landed, show, &mut view);
    parts(by_part(landed, jurisdiction, show)?, &mut view);
    if apart {
        view.table(lacks);
    }
    let mut more = View::default();
    totals(landed, ask, (show, scale), &mut more)?;
    more.say(super::rates_view::tables_line(jurisdiction, ask));
    view.more(more);
    if trail {
        bills
            .iter()
            .for_each(|bill| view.table(trail_of(bill, "", show)));
    }
    let end = End {
        next: NEXT,
        at_the_door: landed.totals.to_pay_carrier.is_positive(),
    };
    warnings(landed, show)?.conclude("Before you order", &end, show, &mut view);
    Ok(view)
}

/// How many parts a screen shows one by one; the parcels of more of them fill it already.
const FEW_PARTS: usize = 12;

/// What each part costs, on the first screen where it has the room.
fn parts(grid: Grid, view: &mut View) {
    let many = grid.rows.iter().filter(|row| row.len() > 1).count();
    if many <= FEW_PARTS {
        view.table(grid);
        return;
    }
    let (mut brief, mut more) = (View::default(), View::default());
    brief.say(format!(
        "`--more` shows what each of the {many} parts costs at your door."
    ));
    more.table(grid);
    view.brief(brief);
    view.more(more);
}

/// What helps after the landed cost is known.
const NEXT: &str = "`landwaiter rank`, then `landwaiter plan`, to see what would cost less.";

/// The cautions, and beside them what is disputed and what has no price.
pub(super) fn warnings(landed: &ShownLanded<'_>, show: &Show) -> Result<Warnings, Overflow> {
    let mut warnings = Warnings::of(&landed.home.cautions, show);
    if let Some((other, rows)) = landed.decided_otherwise()? {
        warnings.disputed(landed.totals.landed()?, other, &rows, show)?;
    }
    for (bill, (as_what, other)) in landed
        .bills
        .iter()
        .filter_map(|b| Some((b, b.otherwise.as_ref()?)))
        .filter(|(b, (_, other))| landed.bills.len() > 1 || !is_undisputed(b, *other))
    {
        let sum = bill.amounts.landed()?;
        let text = format!(
            "{} {as_what} costs {} instead of {}. Ask the carrier how it declares them.",
            bill.home.id,
            show.money(*other),
            show.money(sum)
        );
        warnings.costs(other.minus(sum)?, text, "otherwise");
    }
    let open = &landed.home.open;
    if !open.is_empty() && !landed.home.is_unpriced() {
        let text = format!(
            "Without a price, and not in the total: {}. Fill in `seller` and `price`.",
            few(open)
        );
        warnings.costs_unknown(text, "no-price");
    }
    Ok(warnings)
}

/// `To pay: 1,907.45 to sellers, 1,013.73 at the door. Already paid: 226.10.`
fn to_pay(landed: &ShownLanded<'_>, show: &Show) -> String {
    let t = &landed.totals;
    let unknown = match t.home.paid_unknown.as_slice() {
        [] => String::new(),
        names => format!(" (unknown for {})", few(names)),
    };
    format!(
        "To pay: {} to sellers, {} at the door. Already paid: {}{unknown}.",
        show.amount(t.to_pay_seller),
        show.amount(t.to_pay_carrier),
        show.amount(t.spent)
    )
}

/// What is not in the sum: freight, duty and charges that are not known.
fn not_in_it(landed: &Landed) -> String {
    let mut sentence = String::new();
    let unknown: Vec<&str> = landed
        .bills
        .iter()
        .filter(|b| b.cautions.iter().any(|c| c.id == "freight-unknown"))
        .map(|b| b.id.as_str())
        .collect();
    if !unknown.is_empty() {
        sentence.push_str(&format!(
            " Shipping is unknown and not in it: {}.",
            few(&unknown)
        ));
    }
    let gaps: Vec<&str> = landed
        .bills
        .iter()
        .flat_map(|b| b.gaps.iter().map(String::as_str))
        .collect();
    if !gaps.is_empty() {
        sentence.push_str(&format!(" Duty is unknown and not in it: {}.", few(&gaps)));
    }
    if let Some(ended) = list(&ended(landed), "and").strip_prefix('a') {
        sentence.push_str(&format!(
            " A{ended}; what followed is unknown and not in it."
        ));
    }
    sentence
}

/// The answer in a sentence.
pub(crate) fn landed_line(landed: &Landed, show: &Show) -> Result<String, Overflow> {
    answer(&shown(landed, show)?, show)
}

/// The answer in a sentence, and what of it is disputed in another.
pub(super) fn headlines(landed: &Landed, show: &Show) -> Result<Vec<String>, Overflow> {
    let landed = &shown(landed, show)?;
    let mut lines = vec![answer(landed, show)?];
    if let Some((other, rows)) = landed.decided_otherwise()? {
        let disputed = is_disputed(&rows);
        let with = if other < landed.totals.landed()? {
            "without it"
        } else {
            "with it"
        };
        lines.push(format!(
            "{disputed}: {with} the landed cost is {}.",
            show.money(other)
        ));
    }
    Ok(lines)
}

/// `Landed cost 3,137.33 GBP: 1,242.65 (66 %) more than the price tags.`
fn answer(landed: &ShownLanded<'_>, show: &Show) -> Result<String, Overflow> {
    let home = landed.home;
    if home.is_unpriced() {
        return Ok(format!(
            "No part has a price yet, so there is no landed cost: fill in `price` for {}.",
            few(&home.without_price())
        ));
    }
    let (sum, tags) = (landed.totals.landed()?, landed.totals.tags);
    let beside = beside_tags(sum, tags, show)?;
    let paid = if is_all_paid(landed, sum) {
        ", all of it paid"
    } else {
        ""
    };
    Ok(format!(
        "Landed cost {}{paid}: {beside}.{}",
        show.money(sum),
        not_in_it(home)
    ))
}

/// `1,242.65 (66 %) more than the price tags`.
pub(super) fn beside_tags(
    sum: ShownMoney,
    tags: ShownMoney,
    show: &Show,
) -> Result<String, Overflow> {
    let more = sum.minus(tags)?;
    let word = if more.is_negative() { "less" } else { "more" };
    Ok(if more.is_zero() {
        "as much as the price tags".to_owned()
    } else {
        format!(
            "{}{} {word} than the price tags",
            show.amount(more.abs()),
            percent(more, tags)?
        )
    })
}

/// ` (66 %)` of what the price tags add up to; nothing where that is nothing.
fn percent(more: ShownMoney, tags: ShownMoney) -> Result<String, Overflow> {
    if !tags.is_positive() {
        return Ok(String::new());
    }
    let percent = more
        .abs()
        .amount()
        .times(Dec::HUNDRED)?
        .over(tags.amount())?;
    Ok(format!(
        " ({} %)",
        percent.round_to(0, Mode::HalfUp).grouped(0)
    ))
}

/// Whether a parcel's sum as single parts is the one without what is in dispute, which is said already.
fn is_undisputed(bill: &ShownBill<'_>, apart: ShownMoney) -> bool {
    bill.home.disputed.iter().any(|one| one.assembly) && apart == bill.landed_undisputed
}

/// Charges that ended, each once: `a duty ended 2026-07-23`.
fn ended(landed: &Landed) -> Vec<String> {
    let mut found: Vec<_> = landed
        .bills
        .iter()
        .flat_map(|bill| &bill.ended)
        .map(|one| (one.on, one.id.as_str(), one.words()))
        .collect();
    found.sort_unstable();
    found.dedup();
    found
        .into_iter()
        .map(|(on, _, kind)| format!("{kind} ended {on}"))
        .collect()
}

/// Whether nothing is to be ordered or on its way: the sum is what was paid.
fn is_all_paid(landed: &ShownLanded<'_>, sum: ShownMoney) -> bool {
    let here = landed
        .home
        .bills
        .iter()
        .all(|bill| bill.kind == ConsignmentState::InHand);
    here && landed.home.open.is_empty()
        && !sum.is_zero()
        && landed.totals.to_pay.is_zero()
        && landed.totals.spent == sum
}
