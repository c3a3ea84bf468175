//! `cost` as one screen: the sentence, the parcels with their charges, the room to each limit, the parts, the totals.

use super::show::Show;
use super::shown::{ShownBill, ShownHeld, ShownLanded, ShownLine, ShownSums, shown};
use super::trail_view::trail_of;
use super::view::{Cell, Grid, View};
use crate::landed::{
    Bill, ConsignmentState, Headroom, Jurisdiction, Landed, Question, Totals, decided_otherwise,
};
use crate::text::words::{few, list};
use crate::units::{Dec, HomeMoney, Mode, Overflow, Shown, ShownMoney};
use crate::value::scale::OnScale;

/// Bikes are headed by what their parts do.
const ASSEMBLIES: [&str; 9] = [
    "carries",
    "steers",
    "seats",
    "drives",
    "rolls",
    "stops",
    "small parts",
    "rider",
    "workshop",
];

/// The view of a landed cost; `trail` adds how every amount came about; `apart`, for CSV, gives insurance a column of its own and
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
    headlines_of(landed, show)?
        .into_iter()
        .for_each(|line| view.say(line));
    view.table(parcels_of(landed, show, apart)?);
    view.notes(
        landed
            .bills
            .iter()
            .flat_map(|bill| bill.limits.iter().map(move |limit| (bill.home, limit)))
            .filter_map(|(bill, limit)| limit_line(bill, limit, landed.home, show))
            .collect(),
    );
    view.table(by_part(landed, jurisdiction, show)?);
    if apart {
        view.table(lacks);
    }
    totals(landed, ask, (show, scale), &mut view)?;
    view.say(super::rates_view::tables_line(jurisdiction, ask));
    if trail {
        bills
            .iter()
            .for_each(|bill| view.table(trail_of(bill, "", show)));
    }
    view.head("Before you order");
    view.notes(super::cautions::caution_lines(&landed.home.cautions));
    Ok(view)
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
            " Freight not known and not in it: {}.",
            few(&unknown)
        ));
    }
    let gaps: Vec<&str> = landed
        .bills
        .iter()
        .flat_map(|b| b.gaps.iter().map(String::as_str))
        .collect();
    if !gaps.is_empty() {
        sentence.push_str(&format!(" Duty not known and not in it: {}.", few(&gaps)));
    }
    if let Some(ended) = list(&ended(landed), "and").strip_prefix('a') {
        sentence.push_str(&format!(
            " A{ended}; what followed is not known and not in it."
        ));
    }
    sentence
}

/// The sentences that come first: what it lands at, and what it would land at without what is disputed.
pub(super) fn headlines(landed: &Landed, show: &Show) -> Result<Vec<String>, Overflow> {
    headlines_of(&shown(landed, show)?, show)
}

/// The same as [`headlines`] for a landed cost that is in the money shown already.
fn headlines_of(landed: &ShownLanded<'_>, show: &Show) -> Result<Vec<String>, Overflow> {
    let home = landed.home;
    if home.is_unpriced() {
        return Ok(vec![format!(
            "Nothing is priced: there is no sum to tell, as no price is known for {}.",
            few(&home.without_price())
        )]);
    }
    let sum = landed.totals.landed()?;
    let more = sum.minus(landed.totals.tags)?;
    let word = if more.is_negative() { "less" } else { "more" };
    let beside = if more.is_zero() {
        "as much as".to_owned()
    } else {
        format!("{} {word} than", show.amount(more.abs()))
    };
    let paid = if is_all_paid(landed, sum) {
        ", all of it paid"
    } else {
        ""
    };
    let mut sentence = format!(
        "Lands at {}{paid}: {beside} the price tags.",
        show.money(sum)
    );
    sentence.push_str(&not_in_it(home));
    let mut lines = vec![sentence];
    if let Some((other, rows)) = landed.decided_otherwise()? {
        lines.push(format!(
            "{} it lands at {}.",
            decided_otherwise(&rows),
            show.money(other)
        ));
    }
    for (bill, (as_what, other)) in landed
        .bills
        .iter()
        .filter_map(|b| Some((b, b.otherwise.as_ref()?)))
        .filter(|(b, (_, other))| landed.bills.len() > 1 || !is_undisputed(b, *other))
    {
        lines.push(format!(
            "{} {as_what} lands at {} instead of {}.",
            bill.home.id,
            show.money(*other),
            show.money(bill.amounts.landed()?)
        ));
    }
    Ok(lines)
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
    let mut header = vec!["parcel", "goods", "discount", "freight"];
    header.extend(apart.then_some("insurance"));
    header.extend([
        "duty",
        "anti-\ndumping",
        show.tax(),
        "carrier's\nfee",
        "card\nfee",
        "lands at",
    ]);
    let mut grid = Grid::new("parcels", &header);
    let amounts_row = |name: String, amounts: &ShownSums| amounts_row(name, amounts, show, apart);
    for bill in &landed.bills {
        let name = format!("{}{}", bill.home.id, standing_word(bill.home.kind));
        grid.rows.push(amounts_row(name, &bill.amounts)?);
        if bill.in_price != ShownSums::default() {
            let due = bill.in_price;
            let mut row = amounts_row("  due, in the price".to_owned(), &due)?;
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
            .push(amounts_row("in hand and given".to_owned(), &held)?);
    }
    grid.foot = Some(amounts_row("together".to_owned(), &landed.totals.amounts)?);
    grid.drop_empty_columns();
    Ok(grid)
}

fn standing_word(kind: ConsignmentState) -> &'static str {
    match kind {
        ConsignmentState::ToOrder => "",
        ConsignmentState::OnOrder => " (on order)",
        ConsignmentState::InHand => " (in hand)",
        ConsignmentState::Gift => " (gift)",
    }
}

fn amounts_row(
    name: String,
    a: &ShownSums,
    show: &Show,
    apart: bool,
) -> Result<Vec<Cell>, Overflow> {
    let off = a.discount.negated();
    let carried = if apart {
        vec![a.freight, a.insurance]
    } else {
        vec![a.freight.plus(a.insurance)?]
    };
    let rest = [
        a.duty,
        a.remedy,
        a.tax()?,
        a.handling,
        a.card_fee,
        a.landed()?,
    ];
    let figures = [a.goods, off].into_iter().chain(carried).chain(rest);
    Ok(std::iter::once(Cell::text(name))
        .chain(figures.map(|f| Cell::number(show.amount(f))))
        .collect())
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
    if bill.kind == ConsignmentState::InHand || limit.amount.is_zero() {
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
    let mut grid = Grid::new("parts", &["part", "parcel", "price", "on top", "lands at"]);
    let assembly = |places: &[String]| {
        let first = places.first().and_then(|place| jurisdiction.place(place));
        first
            .map_or("small parts", |place| place.assembly.as_str())
            .to_owned()
    };
    let lines: Vec<(String, &ShownBill<'_>, &ShownLine<'_>)> = landed
        .bills
        .iter()
        .flat_map(|bill| bill.lines.iter().map(move |line| (bill, line)))
        .map(|(b, l)| (assembly(&l.home.places), b, l))
        .collect();
    let held: Vec<(String, &ShownHeld<'_>)> = landed
        .held
        .iter()
        .map(|h| (assembly(&h.home.places), h))
        .collect();
    let known = |name: &str| ASSEMBLIES.contains(&name);
    for heading in ASSEMBLIES.iter().copied().chain(std::iter::once("other")) {
        let here = |name: &str| {
            if heading == "other" {
                !known(name)
            } else {
                name == heading
            }
        };
        let mut rows = Vec::new();
        for (_, bill, line) in lines.iter().filter(|(name, _, _)| here(name)) {
            rows.push(part_row(bill, line, show)?);
        }
        for (_, held) in held.iter().filter(|(name, _)| here(name)) {
            rows.push(held_row(held, show));
        }
        rows.sort_by(|a, b| a[0].as_str().cmp(b[0].as_str()));
        if !rows.is_empty() {
            grid.rows.push(vec![Cell::text(heading)]);
            grid.rows.extend(rows);
        }
    }
    Ok(grid)
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
        format!("  {} x {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let on_top = landed.minus(price)?;
    Ok(vec![
        Cell::text(name),
        Cell::text(&bill.home.id),
        Cell::number(show.amount(price)),
        Cell::number(show.amount(on_top)),
        Cell::number(show.amount(landed)),
    ])
}

fn held_row(held: &ShownHeld<'_>, show: &Show) -> Vec<Cell> {
    let home = held.home;
    let name = if home.quantity > 1 {
        format!("  {} x {}", home.quantity, home.part)
    } else {
        format!("  {}", home.part)
    };
    let paid = held.paid.map_or(Cell::text("not known"), |paid| {
        Cell::number(show.amount(paid))
    });
    let where_from = if home.given { "given" } else { "in hand" };
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
            format!(" (not known for {})", few(names))
        }
    };
    view.say("");
    view.say(format!(
        "Spent {}{}.",
        show.money(t.spent),
        named(&home.paid_unknown)
    ));
    view.say(format!(
        "To pay {}: {} with the orders, {} at the door.",
        show.money(t.to_pay),
        show.amount(t.to_pay_seller),
        show.amount(t.to_pay_carrier)
    ));
    view.say(match t.known_replacement() {
        None => format!(
            "Replacement value not known: no price is told for {}.",
            few(&home.replacement_unknown)
        ),
        Some(value) => format!(
            "Replacement value {}{}.",
            show.money(value),
            named(&home.replacement_unknown)
        ),
    });
    mass_line(home, ask, scale, view)?;
    if let Some(budget) = ask.budget {
        let budget = show.shown(HomeMoney::of(budget))?;
        let distance = distance(budget.minus(t.landed()?)?.amount(), |d| {
            show.amount(ShownMoney::of(d))
        });
        view.say(format!("Budget {}: {distance}.", show.money(budget)));
    }
    let open = &landed.home.open;
    if !open.is_empty() {
        view.say(format!("Not counted, no price yet: {}.", few(open)));
    }
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
        format!("; no mass known for {}", few(&t.mass_unknown))
    };
    // Whatever was on the bike lay on the scale: that goes before the sum of its parts.
    match scale {
        Some(scale) => view.say(format!("{}{unknown}.", super::difference::on_scale(scale))),
        None => {
            let (mass, basis) = (t.mass.0.grouped(0), super::compare_view::basis(ask.basis));
            view.say(format!(
                "Mass {mass} g ({basis}), {} % of it weighed{unknown}.",
                share.fixed(0)
            ));
        }
    }
    beside_mass(t, view);
    if let Some(limit) = ask.max_mass {
        let left = scale.map_or_else(
            || limit.minus(t.mass).map(|left| left.0),
            |scale| scale.left_of(limit),
        )?;
        let distance = distance(left, |d| format!("{} g", d.grouped(0)));
        view.say(format!("Mass limit {} g: {distance}.", limit.0.grouped(0)));
    }
    Ok(())
}

/// What of the bike the basis does not count, and what it adds.
fn beside_mass(t: &Totals, view: &mut View) {
    if let Some([_, likely, _]) = t.rider {
        view.say(format!(
            "In it are {} g for what the rider carries, by the tables.",
            likely.grouped()
        ));
    }
    if !t.aside.parts.is_empty() {
        view.say(format!(
            "On the bike but not in its mass on this basis: {}, {} g.",
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
