//! `cost` as one screen: the answer, the parcels with their charges, the room to each limit, the parts, what to look at before ordering.

use std::collections::BTreeMap;

use super::cautions::{End, Warnings, is_disputed};
use super::show::Show;
use super::shown::{ShownBill, ShownHeld, ShownLanded, ShownLine, ShownSums, shown};
use super::trail_view::trail_of;
use super::view::{Cell, Grid, View};
use crate::landed::{Bill, ConsignmentState, Headroom, Jurisdiction, Landed, Question, Totals};
use crate::text::words::{few, list};
use crate::units::{Dec, HomeMoney, Mode, Overflow, Shown, ShownMoney};
use crate::value::scale::OnScale;

/// Parts are headed by what they are to a bike: the assembly of their place, and what it is called.
const ASSEMBLIES: [(&str, &str); 9] = [
    ("carries", "Structure"),
    ("steers", "Steering"),
    ("seats", "Seating"),
    ("drives", "Drive"),
    ("rolls", "Rolling"),
    ("stops", "Braking"),
    ("small parts", "Small parts"),
    ("rider", "Rider"),
    ("workshop", "Workshop"),
];

/// The view of a landed cost; `trail` adds how every amount came about; `apart`, for CSV, gives every charge a column of its own and
/// what the sums lack a table of its own, as there the sentences are not written.
pub fn cost_view(
    landed: &Landed,
    ask: &Question,
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
    (trail, apart): (bool, bool),
    scale: Option<&OnScale>,
) -> Result<View, Overflow> {
    let mut view = View::default();
    let bills = &landed.bills;
    let lacks = super::lacking::grid(landed);
    let landed = &shown(landed, show)?;
    view.answer(answer(landed, show)?);
    view.say(to_pay(landed, show));
    limits_of_the_build(landed, ask, (show, scale), &mut view)?;
    view.table(parcels_of(landed, show, apart)?);
    near_limits(landed, show, &mut view);
    view.table(by_part(landed, jurisdiction, show)?);
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

/// Whether the build keeps to its budget and its limit of weight, and what it weighs.
fn limits_of_the_build(
    landed: &ShownLanded<'_>,
    ask: &Question,
    (show, scale): (&Show, Option<&OnScale>),
    view: &mut View,
) -> Result<(), Overflow> {
    let (t, home) = (&landed.totals, landed.totals.home);
    let mut said = Vec::new();
    if let Some(budget) = ask.budget {
        let budget = show.shown(HomeMoney::of(budget))?;
        let left = left_of(budget.minus(t.landed()?)?.amount(), |d| {
            show.amount(ShownMoney::of(d))
        });
        said.push(format!("Budget {}: {left}.", show.amount(budget)));
    }
    let mass = scale.map_or(home.mass.0, |scale| scale.likely().0);
    let limit = match ask.max_mass {
        Some(limit) => {
            let left = scale.map_or_else(
                || limit.minus(home.mass).map(|left| left.0),
                |scale| scale.left_of(limit),
            )?;
            let left = left_of(left, |d| format!("{} g", d.grouped(0)));
            format!(", limit {} g: {left}", limit.0.grouped(0))
        }
        None => String::new(),
    };
    if !mass.is_zero() || ask.max_mass.is_some() {
        said.push(format!("Weight {} g{limit}.", mass.grouped(0)));
    }
    if !said.is_empty() {
        view.say(said.join(" "));
    }
    Ok(())
}

/// `12.00 left`, or `12.00 too much`.
fn left_of(left: Dec, shown: impl Fn(Dec) -> String) -> String {
    let word = if left.is_negative() {
        "too much"
    } else {
        "left"
    };
    format!("{} {word}", shown(left.abs()))
}

/// How near parcels are to limits: a sentence for each limit on the screen, a line for each parcel behind `--more`.
fn near_limits(landed: &ShownLanded<'_>, show: &Show, view: &mut View) {
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
        view.say(format!("{text} limit: {}.", said.join("; ")));
    }
    if !limits.is_empty() {
        view.say("Never split an order to get under a limit.");
    }
    let mut more = View::default();
    more.notes(
        all()
            .filter_map(|(bill, limit)| limit_line(bill, limit, landed.home, show))
            .collect(),
    );
    view.more(more);
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

/// The table of the parcels with their charges; `apart` gives insurance a column of its own, beside the freight.
pub(super) fn by_parcel(landed: &Landed, show: &Show, apart: bool) -> Result<Grid, Overflow> {
    parcels_of(&shown(landed, show)?, show, apart)
}

/// The same as [`by_parcel`] for a landed cost that is in the money shown already.
fn parcels_of(landed: &ShownLanded<'_>, show: &Show, apart: bool) -> Result<Grid, Overflow> {
    let mut grid = parcels_in(
        landed,
        show,
        if apart {
            Columns::All
        } else {
            Columns::Charges
        },
    )?;
    if !apart {
        grid.on_screen = Some(Box::new(parcels_in(landed, show, Columns::Grouped)?));
    }
    Ok(grid)
}

/// Which columns a table of parcels has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Columns {
    /// One for each charge, and insurance beside the shipping.
    All,
    /// One for each charge.
    Charges,
    /// Goods after their discount, duties together, fees together: what fits a terminal.
    Grouped,
}

impl Columns {
    /// The header.
    fn names(self, show: &Show) -> Vec<&'static str> {
        match self {
            Columns::Grouped => vec![
                "Parcel",
                "Goods",
                "Shipping",
                "Duties",
                show.tax(),
                "Fees",
                "Landed",
            ],
            Columns::Charges => vec![
                "parcel",
                "goods",
                "discount",
                "shipping",
                "duty",
                "anti-dumping",
                show.tax(),
                "handling fee",
                "card fee",
                "landed cost",
            ],
            Columns::All => vec![
                "parcel",
                "goods",
                "discount",
                "shipping",
                "insurance",
                "duty",
                "anti-dumping",
                show.tax(),
                "handling fee",
                "card fee",
                "landed cost",
            ],
        }
    }

    /// The figures of a row.
    fn figures(self, a: &ShownSums) -> Result<Vec<ShownMoney>, Overflow> {
        let carried = a.freight.plus(a.insurance)?;
        let off = a.discount.negated();
        let (tax, landed) = (a.tax()?, a.landed()?);
        Ok(match self {
            Columns::Grouped => vec![
                a.net_goods()?,
                carried,
                a.duty.plus(a.remedy)?,
                tax,
                a.handling.plus(a.card_fee)?,
                landed,
            ],
            Columns::Charges => vec![
                a.goods, off, carried, a.duty, a.remedy, tax, a.handling, a.card_fee, landed,
            ],
            Columns::All => vec![
                a.goods,
                off,
                a.freight,
                a.insurance,
                a.duty,
                a.remedy,
                tax,
                a.handling,
                a.card_fee,
                landed,
            ],
        })
    }

    /// A row.
    fn row(self, name: String, a: &ShownSums, show: &Show) -> Result<Vec<Cell>, Overflow> {
        let figures = self
            .figures(a)?
            .into_iter()
            .map(|f| Cell::number(show.amount(f)));
        Ok(std::iter::once(Cell::text(name)).chain(figures).collect())
    }
}

/// The table of the parcels with these columns.
fn parcels_in(landed: &ShownLanded<'_>, show: &Show, columns: Columns) -> Result<Grid, Overflow> {
    let mut grid = Grid::new("parcels", &columns.names(show));
    for bill in &landed.bills {
        let name = format!(
            "{}{}",
            parcel_name(bill.home),
            standing_word(bill.home.kind)
        );
        grid.rows.push(columns.row(name, &bill.amounts, show)?);
        if bill.in_price != ShownSums::default() {
            let mut row = columns.row("  due, in the price".to_owned(), &bill.in_price, show)?;
            for cell in row.iter_mut().skip(1) {
                *cell = match cell.as_str() {
                    "0.00" | "0" => Cell::Empty,
                    text => Cell::NotDue(text.to_owned()),
                };
            }
            grid.rows.push(row);
        }
    }
    if !landed.held.is_empty() {
        let held = ShownSums {
            goods: landed.totals.held,
            ..ShownSums::default()
        };
        grid.rows
            .push(columns.row("Already yours".to_owned(), &held, show)?);
    }
    if grid.rows.len() > 1 {
        grid.foot = Some(columns.row("Total".to_owned(), &landed.totals.amounts, show)?);
    }
    grid.drop_empty_columns();
    Ok(grid)
}

/// What a parcel is called on a screen.
pub(super) fn parcel_name(bill: &Bill) -> &str {
    match bill.seller.as_str() {
        "" if bill.id == "at home" => "Bought locally",
        _ => &bill.id,
    }
}

fn standing_word(kind: ConsignmentState) -> &'static str {
    match kind {
        ConsignmentState::ToOrder => "",
        ConsignmentState::OnOrder => " (on the way)",
        ConsignmentState::InHand => " (already yours)",
        ConsignmentState::Gift => " (gift)",
    }
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

fn by_part(
    landed: &ShownLanded<'_>,
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
) -> Result<Grid, Overflow> {
    let mut grid = Grid::new("parts", &["Part", "Parcel", "Price", "Added", "Landed"]);
    let mut groups: BTreeMap<usize, Vec<(Dec, Vec<Cell>)>> = BTreeMap::new();
    let group = |places: &[String]| group_of(places, jurisdiction);
    for bill in &landed.bills {
        for line in &bill.lines {
            let row = (line.amounts.landed()?.amount(), part_row(bill, line, show)?);
            groups
                .entry(group(&line.home.places))
                .or_default()
                .push(row);
        }
    }
    for held in &landed.held {
        let paid = held.paid.map_or(Dec::ZERO, ShownMoney::amount);
        let row = (paid, held_row(held, show));
        groups
            .entry(group(&held.home.places))
            .or_default()
            .push(row);
    }
    for (at, mut rows) in groups {
        grid.rows.push(vec![Cell::text(group_name(at))]);
        rows.sort_by(|(a, one), (b, other)| {
            b.cmp(a)
                .then_with(|| one[0].as_str().cmp(other[0].as_str()))
        });
        grid.rows.extend(rows.into_iter().map(|(_, row)| row));
    }
    Ok(grid)
}

/// Which group of parts a place belongs to; groups stand in this order.
pub(super) fn group_of(places: &[String], jurisdiction: &Jurisdiction<'_>) -> usize {
    let place = places.first().and_then(|place| jurisdiction.place(place));
    let assembly = place.map_or("small parts", |place| place.assembly.as_str());
    let known = ASSEMBLIES.iter().position(|(name, _)| *name == assembly);
    known.unwrap_or(ASSEMBLIES.len())
}

/// The heading of a group of parts.
pub(super) fn group_name(group: usize) -> &'static str {
    ASSEMBLIES.get(group).map_or("Other", |(_, name)| name)
}

fn part_row(
    bill: &ShownBill<'_>,
    line: &ShownLine<'_>,
    show: &Show,
) -> Result<Vec<Cell>, Overflow> {
    let price = line.amounts.net_goods()?;
    let landed = line.amounts.landed()?;
    let home = line.home;
    let name = if home.quantity > 1 {
        format!("  {} × {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let on_top = landed.minus(price)?;
    Ok(vec![
        Cell::text(name),
        Cell::text(parcel_name(bill.home)),
        Cell::number(show.amount(price)),
        Cell::number(show.amount(on_top)),
        Cell::number(show.amount(landed)),
    ])
}

fn held_row(held: &ShownHeld<'_>, show: &Show) -> Vec<Cell> {
    let home = held.home;
    let name = if home.quantity > 1 {
        format!("  {} × {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let paid = held.paid.map_or(Cell::text("unknown"), |paid| {
        Cell::number(show.amount(paid))
    });
    let where_from = if home.given {
        "given to you"
    } else {
        "already yours"
    };
    vec![
        Cell::text(name),
        Cell::text(where_from),
        Cell::Empty,
        Cell::Empty,
        paid,
    ]
}

fn totals(
    landed: &ShownLanded<'_>,
    ask: &Question,
    (show, scale): (&Show, Option<&OnScale>),
    view: &mut View,
) -> Result<(), Overflow> {
    let (t, home) = (&landed.totals, landed.totals.home);
    let named = |names: &[String]| {
        if names.is_empty() {
            String::new()
        } else {
            format!(" (unknown for {})", few(names))
        }
    };
    view.say(match t.known_replacement() {
        None => format!(
            "Cost to buy again is unknown: no price is given for {}.",
            few(&home.replacement_unknown)
        ),
        Some(value) => format!(
            "Cost to buy again: {}{}.",
            show.money(value),
            named(&home.replacement_unknown)
        ),
    });
    mass_line(home, ask, scale, view)?;
    Ok(())
}

fn mass_line(
    t: &Totals,
    ask: &Question,
    scale: Option<&OnScale>,
    view: &mut View,
) -> Result<(), Overflow> {
    if t.mass.0.is_zero() && scale.is_none() {
        return Ok(());
    }
    let share = if t.mass.0.is_zero() {
        Dec::ZERO
    } else {
        t.weighed.0.times(Dec::HUNDRED)?.over(t.mass.0)?
    };
    let unknown = if t.mass_unknown.is_empty() {
        String::new()
    } else {
        format!("; the weight of {} is unknown", few(&t.mass_unknown))
    };
    // Whatever was on the bike lay on the scale: that goes before the sum of its parts.
    match scale {
        Some(scale) => view.say(format!("{}{unknown}.", super::difference::on_scale(scale))),
        None => {
            let (mass, basis) = (t.mass.0.grouped(0), super::compare_view::basis(ask.basis));
            view.say(format!(
                "Weight {mass} g ({basis}), {} % of it weighed{unknown}.",
                share.fixed(0)
            ));
        }
    }
    beside_mass(t, view);
    Ok(())
}

/// What of the bike the basis does not count, and what it adds.
fn beside_mass(t: &Totals, view: &mut View) {
    if let Some([_, likely, _]) = t.rider {
        view.say(format!(
            "This includes {} g for what the rider carries, by the tables.",
            likely.grouped()
        ));
    }
    if !t.aside.parts.is_empty() {
        view.say(format!(
            "On the bike but not counted on this basis: {}, {} g.",
            few(&t.aside.parts),
            t.aside.mass.grouped()
        ));
    }
}

/// `12.00 under` a limit of which so much is left.
pub(super) fn distance(left: Dec, shown: impl Fn(Dec) -> String) -> String {
    format!(
        "{} {}",
        shown(left.abs()),
        if left.is_negative() { "over" } else { "under" }
    )
}
