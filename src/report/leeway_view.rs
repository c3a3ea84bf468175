//! `leeway` as one screen: the range first, then what moves it, then where it stops being worth it.

use super::compare_view::tools_left_out;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::book::About;
use crate::landed::disputed_kinds;
use crate::leeway::{
    Against, BreakEven, Driver, Edge, Effect, Leeway, Lever, MassRange, Outcomes, Range,
};
use crate::text::words::{count, few, list};
use crate::units::{Dec, Mode, Overflow};
use crate::value::scale::OnScale;

/// Everything `leeway` has to say.
#[derive(Debug)]
pub(crate) struct LeewayReport<'a> {
    /// The cost and how far it can move.
    pub(crate) leeway: &'a Leeway,
    /// The mass and how far it can move.
    pub(crate) mass: Option<&'a MassRange>,
    /// The whole bike on the scale, which goes before any range of its mass.
    pub(crate) scale: Option<&'a OnScale>,
    /// Where the build stops being worth it.
    pub(crate) break_even: &'a BreakEven,
    /// The budget, in the destination's money.
    pub(crate) budget: Option<Dec>,
}

/// How many unknowns the table shows.
const SHOWN: usize = 14;

/// The view of a leeway.
pub(crate) fn leeway_view(report: &LeewayReport<'_>, show: &Show) -> Result<View, Overflow> {
    let (leeway, mut view) = (report.leeway, View::default());
    headline(report, show, &mut view)?;
    let mut grid = Grid::new(
        "unknowns",
        &[
            "unknown",
            "low",
            "likely",
            "high",
            "total at low",
            "total at high",
            "moves by",
            "share",
        ],
    );
    for effect in leeway.effects.iter().take(SHOWN) {
        grid.rows.push(effect_row(effect, show)?);
    }
    view.table(grid);
    if leeway.effects.len() > SHOWN {
        view.say(format!(
            "{} with smaller effects are counted and not listed.",
            count(leeway.effects.len() - SHOWN, "unknown", "unknowns")
        ));
    }
    if !leeway.effects.is_empty() {
        view.say(format!(
            "All low {}, all high {}.",
            show.money(leeway.all_low),
            show.money(leeway.all_high)
        ));
    }
    view.table(quantiles(leeway, show)?);
    for asked in &leeway.asked {
        view.say(format!(
            "`{}` may not be asked for: {} when it is ({} %, and due by law), {} when it is not; there is no total between the two.",
            asked.id,
            show.money(asked.asked),
            asked.chance,
            show.money(asked.not_asked)
        ));
    }
    if let Some(scale) = report.scale {
        let within = report
            .mass
            .and_then(|mass| mass.within)
            .map(inside)
            .unwrap_or_default();
        view.say(format!("{}{within}.", super::difference::on_scale(scale)));
    } else if let Some(mass) = report.mass {
        let within = mass
            .within
            .map(|share| format!("; {share} % inside the mass limit"))
            .unwrap_or_default();
        view.say(format!(
            "Mass {} g as stated ({}); a scale will probably say {} to {} g (nine times in ten), as likely above {} g as below{within}.",
            mass.stated.0.grouped(0),
            super::compare_view::basis(mass.basis),
            mass.low.0.grouped(0),
            mass.high.0.grouped(0),
            mass.middle.0.grouped(0)
        ));
    }
    edges(report, show, &mut view)?;
    if !leeway.effects.is_empty() {
        view.head("How this was reckoned");
        view.notes(method(leeway, show));
    }
    if !leeway.cautions.is_empty() {
        view.head("Not in any of these figures");
        view.notes(super::cautions::caution_lines(&leeway.cautions));
    }
    Ok(view)
}

/// Whether a weighed bike is inside the mass limit, or how likely that is where the tables added to its weight or took off.
fn inside(share: Dec) -> String {
    match share {
        all if all == Dec::HUNDRED => "; that is inside the mass limit".to_owned(),
        none if none.is_zero() => "; that is over the mass limit".to_owned(),
        share => format!("; {share} % inside the mass limit"),
    }
}

/// The range without what is disputed, where it stands beside the other and is not joined with it.
fn beside(leeway: &Leeway) -> Option<&Outcomes> {
    leeway
        .decided_otherwise()
        .filter(|_| leeway.disputed_chance.is_none())
}

fn quantiles(leeway: &Leeway, show: &Show) -> Result<Grid, Overflow> {
    let last = if leeway.disputed_counted {
        "without what is disputed"
    } else {
        "with what is disputed"
    };
    let titles = [
        "so many outcomes in the hundred",
        "stay below",
        "against the cost",
        last,
    ];
    let other = beside(leeway);
    let mut grid = Grid::new(
        "quantiles",
        if other.is_some() {
            &titles
        } else {
            &titles[..3]
        },
    );
    for (at, (share, amount)) in leeway.quantiles.iter().enumerate() {
        let against = apart(*amount, leeway.cost, show)?;
        let mut row = vec![
            Cell::text(format!("{share} %")),
            Cell::number(show.amount(*amount)),
            Cell::number(against),
        ];
        row.extend(
            other
                .and_then(|other| other.quantiles.get(at))
                .map(|(_, amount)| Cell::number(show.amount(*amount))),
        );
        grid.rows.push(row);
    }
    Ok(grid)
}

/// `without the anti-dumping duty in dispute`, or with it where it is only shown.
fn decided(leeway: &Leeway) -> String {
    let kinds = disputed_kinds(&leeway.disputed);
    let what = if kinds.is_empty() {
        "what is disputed".to_owned()
    } else {
        format!("{} in dispute", list(&kinds, "and"))
    };
    format!(
        "{} {what}",
        if leeway.disputed_counted {
            "without"
        } else {
            "with"
        }
    )
}

/// What is disputed moves the cost more than anything else may: it is said beside the range, or joined with it.
fn disputed(report: &LeewayReport<'_>, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let leeway = report.leeway;
    let Some(other) = leeway.decided_otherwise() else {
        return Ok(());
    };
    if let Some(chance) = leeway.disputed_chance {
        let (with, without) = if leeway.disputed_counted {
            (leeway.cost, other.cost)
        } else {
            (other.cost, leeway.cost)
        };
        view.say(format!(
            "The range holds what is disputed with its chance of {chance} %: {} with it, {} without it.",
            show.money(with),
            show.money(without)
        ));
        return Ok(());
    }
    let at = |share: u32| {
        other
            .quantiles
            .iter()
            .find(|(s, _)| *s == share)
            .map_or(other.cost, |(_, amount)| *amount)
    };
    let (low, high) = (show.amount(at(5)), show.money(at(95)));
    let within = other
        .within_budget
        .map(|share| format!("; chance of staying inside the budget {share} %"))
        .unwrap_or_default();
    view.say(format!(
        "{} {}; nine times in ten between {low} and {high}; to be {} % sure, set aside {}{within}.",
        decided(leeway).replacen("with", "With", 1),
        show.money(other.cost),
        other.assured.0,
        less(other.assured.1, leeway.spent, show)?
    ));
    view.say("Which of the two it will be nobody tells here: a row `disputed` in `unknowns.csv`, with a chance, joins them to one range.");
    Ok(())
}

fn headline(report: &LeewayReport<'_>, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let leeway = report.leeway;
    let at = |share: u32| {
        leeway
            .quantiles
            .iter()
            .find(|(s, _)| *s == share)
            .map_or(leeway.cost, |(_, amount)| *amount)
    };
    let lacks = not_counted(leeway);
    if leeway.effects.is_empty() && leeway.decided_otherwise().is_none() {
        let what = if lacks.is_empty() {
            "nothing in the book is unknown"
        } else {
            "nothing that is counted is unknown"
        };
        view.say(format!(
            "Lands at {}: {what}, so nothing moves it.",
            show.money(leeway.cost)
        ));
    } else {
        let (low, high) = (show.amount(at(5)), show.money(at(95)));
        view.say(format!(
            "Lands at {}; nine times in ten between {low} and {high}.",
            show.money(leeway.cost)
        ));
    }
    if !lacks.is_empty() {
        view.say(format!(
            "Not counted in any figure here: {}.",
            lacks.join("; ")
        ));
    }
    if leeway.likely != leeway.cost {
        view.say(format!(
            "With every unknown at its likely figure {}.",
            show.money(leeway.likely)
        ));
    }
    let (assurance, sum) = leeway.assured;
    let aside = less(sum, leeway.spent, show)?;
    let spent = if leeway.spent.is_zero() {
        String::new()
    } else {
        format!(" beside the {} spent", show.amount(leeway.spent))
    };
    let counted = if leeway.open.is_empty() {
        ""
    } else {
        " of what is counted"
    };
    view.say(format!(
        "To be {assurance} % sure{counted}, set aside {aside}{spent}: {} against the cost.",
        apart(sum, leeway.cost, show)?
    ));
    if let Some((budget, share)) = report.budget.zip(leeway.within_budget) {
        let so_far = if leeway.open.is_empty() {
            ""
        } else {
            ", without the parts that have no price yet"
        };
        view.say(format!(
            "Chance of staying inside the budget of {}: {share} %{so_far}.",
            show.money(budget)
        ));
    }
    disputed(report, show, view)
}

/// What the cost, and with it every figure, does not hold because the book has no sum for it.
fn not_counted(leeway: &Leeway) -> Vec<String> {
    let mut lacks = Vec::new();
    for (what, about) in [
        ("no price yet for", &leeway.open),
        ("what was paid is not known for", &leeway.paid_unknown),
    ] {
        if !about.is_empty() {
            lacks.push(format!("{what} {}", few(about)));
        }
    }
    lacks
}

/// How far one amount is above another, as both are shown: `+12.40`.
fn apart(more: Dec, less: Dec, show: &Show) -> Result<String, Overflow> {
    let apart = show.difference(more, less)?;
    let text = show.as_it_is().amount(apart);
    Ok(if apart.is_positive() {
        format!("+{text}")
    } else {
        text
    })
}

/// What is left of an amount, as both are shown, with its money.
fn less(amount: Dec, less: Dec, show: &Show) -> Result<String, Overflow> {
    Ok(show.as_it_is().money(show.difference(amount, less)?))
}

/// A figure of an unknown: out of a hundred, in the money that is shown, or in its own money, which is named where it is another.
fn figure(driver: &Driver, figure: Dec, show: &Show) -> String {
    if driver.relative {
        return format!("{} %", figure.round_to(2, Mode::HalfUp));
    }
    match driver.unit {
        _ if driver.about == About::Disputed => show.amount(figure),
        Some(unit) if driver.is_home_sum() && unit != show.currency => show.amount(figure),
        Some(unit) if unit != show.currency => format!("{figure} {unit}"),
        _ => figure.to_string(),
    }
}

/// What an unknown is, in words.
pub(super) fn title(driver: &Driver) -> String {
    match driver.about {
        About::Exchange => format!("exchange of {}", driver.name),
        About::Price => format!("price, {}", driver.shown()),
        About::Handling => format!("beyond the carrier's fee, {}", driver.name),
        About::Disputed => format!("what is disputed ({} %)", driver.chance.unwrap_or_default()),
        About::Event => format!(
            "{} ({} % of the time)",
            driver.name,
            driver.chance.unwrap_or_default()
        ),
        _ => format!("{}, {}", driver.about.name(), driver.name),
    }
}

fn effect_row(effect: &Effect, show: &Show) -> Result<Vec<Cell>, Overflow> {
    let driver = &effect.driver;
    let cells =
        [driver.low, driver.likely, driver.high].map(|x| Cell::number(figure(driver, x, show)));
    let totals = [effect.at_low, effect.at_high].map(|amount| Cell::number(show.amount(amount)));
    let moves = Cell::number(
        show.as_it_is()
            .amount(show.difference(effect.at_high, effect.at_low)?),
    );
    let share = effect.share.map_or(Cell::Empty, |share| {
        Cell::number(format!("{} %", share.fixed(1)))
    });
    Ok(std::iter::once(Cell::text(title(driver)))
        .chain(cells)
        .chain(totals)
        .chain([moves, share])
        .collect())
}

fn lever_text(lever: &Lever) -> String {
    match lever {
        Lever::Exchange(currency) => format!("one {currency}"),
        Lever::Freight => "freight".to_owned(),
        Lever::Charges => "charges at the door".to_owned(),
    }
}

fn against_text(against: &Against) -> String {
    match against {
        Against::Bike(bike) => bike.clone(),
        Against::Offer(part, seller) => format!("{part}, from {seller}"),
    }
}

fn edges(report: &LeewayReport<'_>, show: &Show, view: &mut View) -> Result<(), Overflow> {
    if report.break_even.edges.is_empty() && report.break_even.not_held.is_empty() {
        return Ok(());
    }
    view.head("Where it stops being worth it");
    view.say("The build at replacement value against bikes as they land here, parts against offers at home.");
    let mut grid = Grid::new(
        "break_even",
        &[
            "against",
            "saves now",
            "what moves",
            "now",
            "breaks even at",
            "that is",
        ],
    );
    for edge in &report.break_even.edges {
        edge_rows(edge, show, &mut grid)?;
    }
    view.table(grid);
    if report
        .break_even
        .edges
        .iter()
        .any(|edge| edge.levers.iter().any(|(.., even)| even.is_none()))
    {
        view.say("Where a row is missing nothing breaks even: no rate between half and twice today's, no sum of nought or more.");
    }
    let with_bikes = report
        .break_even
        .edges
        .iter()
        .any(|edge| matches!(edge.against, Against::Bike(_)));
    if let Some(rows) = tools_left_out(report.break_even.tools_left_out).filter(|_| with_bikes) {
        view.say(format!(
            "Against bikes {rows} left out, as in `compare`; `--with-tools` counts them."
        ));
    }
    let not_held: Vec<String> = report
        .break_even
        .not_held
        .iter()
        .map(|(bike, why)| format!("{bike}: {why}"))
        .collect();
    if !not_held.is_empty() {
        view.say(format!("Not held against it: {}.", not_held.join("; ")));
    }
    Ok(())
}

/// What both cost the same at, a row for each; where nothing makes them, one row says so.
fn edge_rows(edge: &Edge, show: &Show, grid: &mut Grid) -> Result<(), Overflow> {
    let mut head = vec![
        Cell::text(against_text(&edge.against)),
        Cell::number(show.amount(edge.margin)),
    ];
    for (lever, now, even) in &edge.levers {
        let Some(even) = even else { continue };
        let digits = if *now < Dec::new(1, 1) { 6 } else { 4 };
        let shown = |amount: Dec| {
            if matches!(lever, Lever::Exchange(_)) {
                amount.fixed(digits)
            } else {
                show.amount(amount)
            }
        };
        let mut row = std::mem::replace(&mut head, vec![Cell::text(""), Cell::Empty]);
        row.extend([
            Cell::text(lever_text(lever)),
            Cell::number(shown(*now)),
            Cell::number(shown(*even)),
            Cell::number(moved(*now, *even)?),
        ]);
        grid.rows.push(row);
    }
    if edge.levers.iter().all(|(.., even)| even.is_none()) {
        head.push(Cell::text("nothing"));
        grid.rows.push(head);
    }
    Ok(())
}

/// How far off a figure is, out of a hundred.
fn moved(now: Dec, even: Dec) -> Result<String, Overflow> {
    if now.is_zero() {
        return Ok(String::new());
    }
    let percent = even.minus(now)?.times(Dec::HUNDRED)?.over(now)?;
    Ok(format!(
        "{}{} %",
        if percent.is_negative() { "" } else { "+" },
        percent.fixed(1)
    ))
}

pub(super) fn range_text(driver: &Driver) -> String {
    match &driver.range {
        Range::Book(row) => format!("{row}, {}", driver.shape.text()),
        Range::Usual(row, text) => format!("{row}: {text}; {}", driver.shape.text()),
        Range::Either(row) => {
            format!("{row}: it is asked for or it is not, and nothing lies between")
        }
        Range::Seen(days, windows) => {
            format!(
                "moves over {} of publication, seen {windows} times before the day of ordering; low and high are the twentieths at either end",
                count(*days as usize, "day", "days")
            )
        }
    }
}

fn method(leeway: &Leeway, show: &Show) -> Vec<String> {
    let mut lines = vec![
        "Every total is the whole sum run again; duty, tax and fees follow from it and have no range of their own. An exchange rate moves all that is paid in its currency, and customs, together.".to_owned(),
        "The shares are reckoned by folding the effects of the unknowns together on a grid; within one currency the others' effects are taken for eight slices of its exchange. Nothing is drawn at random.".to_owned(),
    ];
    if leeway
        .effects
        .iter()
        .any(|effect| effect.share.is_some_and(Dec::is_positive))
    {
        lines.push(
            "The share of an unknown is its part in what all of them spread the total by, each taken alone (by variance); they add up to 100 %."
                .to_owned(),
        );
    }
    if let Some(checked) = leeway.checked {
        lines.push(format!(
            "Held against the whole sum at {} points (seed {}): off by {} on average, {} at most; the grid's step is {}.",
            checked.draws,
            checked.seed,
            show.amount(checked.mean),
            show.amount(checked.largest),
            show.money(checked.step)
        ));
    }
    let mut ranges: Vec<(String, Vec<String>)> = Vec::new();
    for effect in &leeway.effects {
        let text = range_text(&effect.driver);
        let name = effect.driver.about.name().to_owned();
        match ranges.iter_mut().find(|(known, _)| *known == text) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => ranges.push((text, vec![name])),
        }
    }
    lines.extend(
        ranges
            .into_iter()
            .map(|(text, names)| format!("{}: {text}", names.join(", "))),
    );
    lines
}
