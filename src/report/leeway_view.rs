//! `leeway` as one screen: the range, what moves it most, and what no range counts; the rest behind `--more`.

use super::cautions::{End, Warnings, is_disputed};
use super::compare_view::tools_left_out;
use super::difference::{on_scale, on_scale_beside};
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::book::About;
use crate::landed::{Caution, disputed_kinds};
use crate::leeway::{
    Against, BreakEven, Driver, Edge, Effect, Leeway, Lever, MassRange, Outcomes, Range,
};
use crate::text::words::{count, few, list};
use crate::units::{Dec, Grams, Mode, Overflow, ShownMoney};
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
    /// The limit of weight.
    pub(crate) max_mass: Option<Grams>,
}

/// How many unknowns a terminal shows; the others stand behind `--more`.
const SHOWN: usize = 8;

/// The view of a leeway; `said` are cautions about what the figures rest on.
pub(crate) fn leeway_view(
    report: &LeewayReport<'_>,
    said: &[Caution],
    show: &Show,
) -> Result<View, Overflow> {
    let (leeway, mut view, mut more) = (report.leeway, View::default(), View::default());
    headline(report, show, &mut view)?;
    in_other_words(leeway, show, &mut more)?;
    view.more(std::mem::take(&mut more));
    unknowns(leeway, show, &mut view)?;
    nearest_edge(report.break_even, show, &mut view)?;
    if let Some(text) = weight(report)? {
        view.say(text);
    }
    more.table(quantiles(leeway, show)?);
    edges(report, show, &mut more)?;
    if !leeway.effects.is_empty() {
        more.head("How this was worked out");
        more.notes(method(leeway, show));
    }
    view.more(more);
    let is_open = leeway
        .effects
        .iter()
        .any(|effect| effect.driver.about == About::Price);
    let heading = if is_open || !leeway.open.is_empty() {
        "Before you order"
    } else {
        "To watch"
    };
    let end = End {
        next: if is_open { HOLD } else { BILLS },
        at_the_door: false,
    };
    warnings(leeway, said, show)?.conclude(heading, &end, show, &mut view);
    Ok(view)
}

/// What helps while prices can still move.
const HOLD: &str = "ask the first sellers above to hold their prices, then `landwaiter plan`.";
/// What helps when everything is ordered.
const BILLS: &str = "`landwaiter settle` sets the bills against the estimate.";

/// The unknowns: the largest on a terminal, all of them behind `--more`.
fn unknowns(leeway: &Leeway, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let mut whole = Grid::new(
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
    let mut brief = Grid::new(
        "largest",
        &[
            "What could change",
            "From",
            "To",
            "Total from",
            "Total to",
            "Swing",
        ],
    );
    for (at, effect) in leeway.effects.iter().enumerate() {
        let row = effect_row(effect, show)?;
        if at < SHOWN {
            brief.rows.push(briefly(effect, &row));
        }
        whole.rows.push(row);
    }
    let (mut shown, mut more) = (View::default(), View::default());
    shown.table(brief);
    more.table(whole);
    view.brief(shown);
    if !leeway.effects.is_empty() {
        more.say(format!(
            "Everything at its lowest {}, everything at its highest {}.",
            show.money(leeway.all_low),
            show.money(leeway.all_high)
        ));
    }
    view.more(more);
    if leeway.effects.len() > SHOWN {
        let mut rest = View::default();
        rest.say(format!(
            "{} counted too: `--more` lists them.",
            count(
                leeway.effects.len() - SHOWN,
                "smaller unknown is",
                "smaller unknowns are"
            )
        ));
        view.brief(rest);
    }
    let middle = at_share(&leeway.quantiles, 50).filter(|_| !leeway.effects.is_empty());
    if let Some(middle) = middle {
        let apart = show.difference(middle, leeway.cost)?;
        let beside = match apart {
            none if none.is_zero() => "the landed cost".to_owned(),
            apart => format!(
                "{}, {} {} than estimated",
                show.amount(middle),
                show.as_it_is().amount(apart.abs()),
                if apart.is_negative() { "less" } else { "more" }
            ),
        };
        view.say(format!("Half of all outcomes are above {beside}."));
    }
    Ok(())
}

/// The cells of an unknown's row that a terminal shows; percentages carry their sign.
fn briefly(effect: &Effect, row: &[Cell]) -> Vec<Cell> {
    let signed = |cell: &Cell| match cell {
        Cell::Number(text) if effect.driver.relative => {
            Cell::number(super::difference::signed(text))
        }
        other => other.clone(),
    };
    match row {
        [what, low, _, high, at_low, at_high, swing, ..] => vec![
            what.clone(),
            signed(low),
            signed(high),
            at_low.clone(),
            at_high.clone(),
            swing.clone(),
        ],
        _ => Vec::new(),
    }
}

/// What the scale said, or will probably say.
fn weight(report: &LeewayReport<'_>) -> Result<Option<String>, Overflow> {
    let within = report.mass.and_then(|mass| mass.within);
    if let Some(scale) = report.scale {
        let asked = report.mass.map_or(scale.basis, |mass| mass.basis);
        return Ok(Some(match report.max_mass.zip(within) {
            Some((limit, share)) => {
                on_scale_beside(scale, asked, &inside(scale.likely(), limit, share)?)
            }
            None => format!("{}.", on_scale(scale)),
        }));
    }
    let Some(mass) = report.mass else {
        return Ok(None);
    };
    let within = within
        .map(|share| format!("; {share} % likely within the weight limit"))
        .unwrap_or_default();
    Ok(Some(format!(
        "Weight {} g as entered ({}). The scale is 90 % likely to show {} to {} g, and over {} g half the time{within}.",
        mass.stated.0.grouped(0),
        mass.basis.name(),
        mass.low.0.grouped(0),
        mass.high.0.grouped(0),
        mass.middle.0.grouped(0)
    )))
}

/// What no figure counts, what is all or nothing, and what else was said.
fn warnings(leeway: &Leeway, said: &[Caution], show: &Show) -> Result<Warnings, Overflow> {
    let all: Vec<Caution> = leeway.cautions.iter().chain(said).cloned().collect();
    let mut warnings = Warnings::of(&all, show);
    if let Some(other) = beside(leeway) {
        let why = warnings.why(&leeway.disputed);
        let text = format!(
            "{}, all or nothing: no total lies between the two ranges.{why} Keep this money ready, or give its chance in a row `disputed` of `unknowns.csv`: that joins both ranges.",
            if leeway.disputed.is_empty() {
                "A charge is disputed".to_owned()
            } else {
                is_disputed(&leeway.disputed)
            }
        );
        let apart = show.difference(leeway.cost, other.cost)?;
        warnings.costs(ShownMoney::of(apart), text, "disputed");
    }
    for asked in &leeway.asked {
        let text = format!(
            "{} may not be charged: {} if it is ({} % likely, and due by law), {} if it is not, and no total lies between. Keep this money ready.",
            charge_asked(&asked.id),
            show.money(asked.asked),
            asked.chance,
            show.money(asked.not_asked)
        );
        let apart = show.difference(asked.asked, asked.not_asked)?;
        warnings.costs(ShownMoney::of(apart), text, "may-not-be-charged");
    }
    for (about, text, id) in [
        (
            &leeway.open,
            "Without a price, and in no figure here: {}. Fill in `seller` and `price`.",
            "no-price",
        ),
        (
            &leeway.paid_unknown,
            "What was paid is unknown, and in no figure here: {}. Fill in `paid`.",
            "paid-unknown",
        ),
    ] {
        if !about.is_empty() {
            warnings.costs_unknown(text.replace("{}", &few(about)), id);
        }
    }
    Ok(warnings)
}

/// `The anti-dumping duty on Kestrel Works`, of `remedy:Kestrel Works`.
fn charge_asked(id: &str) -> String {
    match id.split_once(':') {
        Some(("remedy", name)) => format!("The anti-dumping duty on {name}"),
        Some(("charges", name)) => format!("What is due at the door for {name}"),
        _ => format!("`{id}`"),
    }
}

/// The total that a share of outcomes stays below.
pub(super) fn at_share(quantiles: &[(u32, Dec)], share: u32) -> Option<Dec> {
    let found = quantiles.iter().find(|(known, _)| *known == share);
    found.map(|(_, amount)| *amount)
}

/// How far a weighed bike is from its limit, or how likely it is within it where the tables added to its weight or took off.
fn inside(mass: Grams, limit: Grams, share: Dec) -> Result<String, Overflow> {
    if !share.is_zero() && share != Dec::HUNDRED {
        return Ok(format!("{share} % likely within your limit"));
    }
    let left = limit.minus(mass)?.0;
    let far = Grams(left.abs()).grouped();
    Ok(if left.is_zero() {
        "just your limit".to_owned()
    } else if left.is_negative() {
        format!("{far} g over your limit")
    } else {
        format!("{far} g under your limit")
    })
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
    let titles = ["chance", "total at most", "difference from estimate", last];
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

/// `without the anti-dumping duty`, or with it where it is only shown.
pub(super) fn decided_words(leeway: &Leeway) -> String {
    let kinds = disputed_kinds(&leeway.disputed);
    let what = if kinds.is_empty() {
        "what is disputed".to_owned()
    } else {
        list(&kinds, "and")
    };
    let word = if leeway.disputed_counted {
        "without"
    } else {
        "with"
    };
    format!("{word} {what}")
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
fn disputed(leeway: &Leeway, show: &Show, view: &mut View) {
    let Some(other) = leeway.decided_otherwise() else {
        return;
    };
    if let Some(chance) = leeway.disputed_chance {
        let (with, without) = if leeway.disputed_counted {
            (leeway.cost, other.cost)
        } else {
            (other.cost, leeway.cost)
        };
        view.say(format!(
            "This counts what is disputed as {chance} % likely: {} with it, {} without it.",
            show.money(with),
            show.money(without)
        ));
        return;
    }
    let at = |share: u32| at_share(&other.quantiles, share).unwrap_or(other.cost);
    view.say(format!(
        "{}: {}; 90 % likely between {} and {}.",
        decided(leeway).replacen("with", "With", 1),
        show.money(other.cost),
        show.amount(at(5)),
        show.amount(at(95))
    ));
}

/// The answer: the range, what to keep ready, and whether the budget holds.
fn headline(report: &LeewayReport<'_>, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let leeway = report.leeway;
    let is_partial = !leeway.open.is_empty() || !leeway.paid_unknown.is_empty();
    if leeway.effects.is_empty() && leeway.decided_otherwise().is_none() {
        let what = if is_partial {
            "Nothing that is counted is uncertain"
        } else {
            "Nothing is uncertain"
        };
        view.answer(format!(
            "Landed cost {}. {what}, so it cannot move.",
            show.money(leeway.cost)
        ));
    } else {
        let at = |share: u32| at_share(&leeway.quantiles, share).unwrap_or(leeway.cost);
        view.answer(format!(
            "Landed cost {}; 90 % likely between {} and {}.",
            show.money(leeway.cost),
            show.amount(at(5)),
            show.amount(at(95))
        ));
    }
    disputed(leeway, show, view);
    let (assurance, sum) = leeway.assured;
    let ready = less(sum, leeway.spent, show)?;
    let paid = if leeway.spent.is_zero() {
        String::new()
    } else {
        format!(" beside the {} already paid", show.amount(leeway.spent))
    };
    let counted = if leeway.open.is_empty() {
        ""
    } else {
        " of all that is counted"
    };
    view.say(format!(
        "To be {assurance} % sure{counted}, keep {ready} ready{paid}."
    ));
    if let Some((budget, share)) = report.budget.zip(leeway.within_budget) {
        let so_far = if leeway.open.is_empty() {
            ""
        } else {
            ", without the parts that have no price yet"
        };
        view.say(format!(
            "Chance of staying within the {} budget: {share} %{so_far}.",
            show.money(budget)
        ));
    }
    Ok(())
}

/// What the answer leaves out: the sum to keep ready beside the landed cost, the likely figures, and the same without what is
/// disputed.
fn in_other_words(leeway: &Leeway, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let (assurance, sum) = leeway.assured;
    view.say(format!(
        "The total is {assurance} % likely to stay below {}: {} against the landed cost.",
        show.money(sum),
        apart(sum, leeway.cost, show)?
    ));
    if leeway.likely != leeway.cost {
        view.say(format!(
            "With every unknown at its most likely figure: {}.",
            show.money(leeway.likely)
        ));
    }
    if let Some(other) = beside(leeway) {
        let within = other
            .within_budget
            .map(|share| format!("; chance of staying within the budget {share} %"))
            .unwrap_or_default();
        view.say(format!(
            "{}, to be {} % sure, keep {} ready{within}.",
            decided(leeway).replacen("with", "With", 1),
            other.assured.0,
            less(other.assured.1, leeway.spent, show)?
        ));
    }
    Ok(())
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

/// From where to where an unknown is taken to lie: `-10 % to +10 %`.
pub(super) fn assumed(driver: &Driver, show: &Show) -> String {
    let end = |at: Dec| {
        let text = figure(driver, at, show);
        if driver.relative {
            super::difference::signed(&text)
        } else {
            text
        }
    };
    if driver.about == About::Disputed {
        return String::new();
    }
    format!("{} to {}", end(driver.low), end(driver.high))
}

/// What an unknown is, in words.
pub(super) fn title(driver: &Driver) -> String {
    match driver.about {
        About::Exchange => super::plain::exchange_of(&driver.name),
        About::Price if driver.shown() == driver.name => format!("Prices, {}", driver.name),
        About::Price => format!("Price, {}", driver.shown()),
        About::Handling => format!("Extra fee, {}", driver.name),
        About::Disputed => format!(
            "What is disputed ({} % likely)",
            driver.chance.unwrap_or_default()
        ),
        About::Event => format!(
            "{} ({} % likely)",
            driver.name,
            driver.chance.unwrap_or_default()
        ),
        About::Freight => format!("Shipping, {}", driver.name),
        About::Mass => format!("Weight, {}", driver.name),
        About::Charges | About::Remedy => format!("{}, {}", driver.about.name(), driver.name),
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
        Lever::Exchange(currency) => format!("the price of one {currency}"),
        Lever::Freight => "shipping".to_owned(),
        Lever::Charges => "the charges at the door".to_owned(),
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
    view.head("When the build stops being cheaper");
    view.say("Build: cost to buy it again. Bikes: landed cost here. Parts: the same part bought locally.");
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
        view.say("Where a row is missing nothing breaks even: no rate between half and double today's, no amount of 0 or more.");
    }
    let with_bikes = report
        .break_even
        .edges
        .iter()
        .any(|edge| matches!(edge.against, Against::Bike(_)));
    if with_bikes
        && (!report.break_even.empty.is_empty() || !report.break_even.price_unknown.is_empty())
    {
        view.say(
            "Parts are missing or without a price, so every gap to a bike flatters the build.",
        );
    }
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
        view.say(format!("Not compared: {}.", not_held.join("; ")));
    }
    Ok(())
}

/// The complete bike whose cost is nearest to the build's, and the two least moves that would turn the verdict round. Nothing is said
/// where `compare` gives no verdict; where prices are unknown and the build costs more all the same, it costs at least that.
fn nearest_edge(found: &BreakEven, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let bikes = found
        .edges
        .iter()
        .filter_map(|edge| match &edge.against {
            Against::Bike(name) => Some((name, edge)),
            Against::Offer(..) => None,
        })
        .min_by_key(|(_, edge)| edge.margin.abs());
    // of half a bike, or of one that is cheaper only as far as its prices are known, there is no verdict
    let is_floor = !found.price_unknown.is_empty();
    let Some((bike, edge)) = bikes
        .filter(|_| found.empty.is_empty())
        .filter(|(_, edge)| !is_floor || edge.margin.is_negative())
    else {
        return Ok(());
    };
    let mut moves = Vec::new();
    for (lever, now, even) in &edge.levers {
        if let Some(even) = even.filter(|_| !now.is_zero()) {
            let percent = even.minus(*now)?.times(Dec::HUNDRED)?.over(*now)?;
            moves.push((percent, lever_text(lever)));
        }
    }
    moves.sort_by_key(|(percent, _)| percent.abs());
    let moves: Vec<String> = moves
        .iter()
        .take(2)
        .map(|(percent, what)| {
            let verb = if percent.is_negative() {
                "a fall"
            } else {
                "a rise"
            };
            format!("{verb} of {} % in {what}", percent.abs().fixed(1))
        })
        .collect();
    let tools = if found.tools_left_out > 0 {
        ", without tools and spares,"
    } else {
        ""
    };
    let beside = match edge.margin {
        none if none.is_zero() => "as much as".to_owned(),
        margin => format!(
            "{}{} {} than",
            if is_floor { "at least " } else { "" },
            show.amount(margin.abs()),
            if margin.is_negative() { "more" } else { "less" }
        ),
    };
    let ends = if moves.is_empty() || is_floor {
        String::new()
    } else {
        format!(" That ends with {}.", list(&moves, "or"))
    };
    view.say(format!(
        "Bought again{tools} the build costs {beside} {bike}.{ends}"
    ));
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

/// The same for a screen, which names no place in the shipped tables.
fn range_shown(driver: &Driver) -> String {
    match &driver.range {
        Range::Usual(_, text) => format!("{text}; {}", driver.shape.text()),
        _ => range_text(driver),
    }
}

pub(super) fn range_text(driver: &Driver) -> String {
    match &driver.range {
        Range::Book(row) => format!("{row}, {}", driver.shape.text()),
        Range::Usual(row, text) => format!("{row}: {text}; {}", driver.shape.text()),
        Range::Either(row) => {
            format!("{row}: it is charged or it is not, and nothing lies between")
        }
        Range::Seen(days, windows) => {
            format!(
                "from {windows} past moves over {} of publication; low and high are the 5 % at each end",
                count(*days as usize, "day", "days")
            )
        }
    }
}

fn method(leeway: &Leeway, show: &Show) -> Vec<String> {
    let mut lines = vec![
        "Every total is a full recalculation, so duty, taxes and fees follow the price. An exchange rate moves everything in its currency at once, the charges of customs with it.".to_owned(),
        "The chances come from combining all effects on a fine grid, in eight slices of each exchange rate. Nothing is drawn at random.".to_owned(),
    ];
    if leeway
        .effects
        .iter()
        .any(|effect| effect.share.is_some_and(Dec::is_positive))
    {
        lines.push(
            "The share of an unknown is its part of the variance that all of them give the total, each taken alone; they add up to 100 %."
                .to_owned(),
        );
    }
    if let Some(checked) = leeway.checked {
        lines.push(format!(
            "Checked against the full calculation at {} points (seed {}): off by {} on average, {} at most; the step of the grid is {}.",
            checked.draws,
            checked.seed,
            show.amount(checked.mean),
            show.amount(checked.largest),
            show.money(checked.step)
        ));
    }
    let mut ranges: Vec<(String, Vec<String>)> = Vec::new();
    for effect in &leeway.effects {
        let text = range_shown(&effect.driver);
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
