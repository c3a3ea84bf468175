//! The pieces of the page: the verdict, the tables ruled like a ledger with the row in the margin, the cautions.

use maud::{Markup, html};

use crate::compare::Compared;
use crate::landed::{Bill, Caution, ConsignmentState, Step};
use crate::report::gallery::Showing;
use crate::report::redact::{Figures, in_words};
use crate::report::shown::{ShownHeld, ShownLanded};
use crate::report::view::{Block, Cell, Grid, View};
use crate::report::{
    compare_view, cost_view, difference, rank_view, rates_view, shown, trail_view,
};
use crate::text::words::{count, few};
use crate::units::{Dec, Grams, HomeMoney, Money, Overflow, ShownMoney};

/// The first sentence, and what stands under it.
pub(super) struct Verdict {
    pub(super) first: String,
    pub(super) rest: Vec<String>,
}

/// The verdict.
pub(super) fn verdict(showing: &Showing<'_>) -> Result<Verdict, Overflow> {
    let landed = shown(showing.landed, &showing.figures.show)?;
    let (totals, figures) = (&landed.totals, &showing.figures.as_it_is());
    let (sum, tags) = (totals.landed()?, totals.tags);
    let mut lines = cost_view::headlines(showing.landed, &showing.figures.show)?;
    let first = if figures.hidden.is_some() {
        let more = sum.minus(tags)?;
        let percent = if tags.is_zero() {
            Dec::ZERO
        } else {
            more.amount()
                .abs()
                .times(Dec::HUNDRED)?
                .over(tags.amount())?
        };
        let word = if more.is_negative() { "less" } else { "more" };
        lines.clear();
        if more.is_zero() {
            "Costs as much at the door as on the price tags.".to_owned()
        } else {
            format!(
                "Costs {} {word} at the door than on the price tags.",
                in_words(percent)
            )
        }
    } else if lines.is_empty() {
        String::new()
    } else {
        lines.remove(0)
    };
    let mut rest: Vec<String> = lines.iter().map(|line| line.replace('`', "")).collect();
    if figures.hidden.is_none() {
        if let Some(budget) = showing.ask.budget {
            let budget = showing.figures.show.shown(HomeMoney::of(budget))?;
            let distance = cost_view::distance(budget.minus(sum)?.amount(), |d| {
                figures.money(ShownMoney::of(d))
            });
            rest.push(format!(
                "That is {distance} the budget of {}.",
                figures.money(budget)
            ));
        }
        rest.push(format!(
            "Spent {}; to pay {}: {} with the orders and {} at the door.",
            figures.money(totals.spent),
            figures.money(totals.to_pay),
            figures.amount(totals.to_pay_seller),
            figures.amount(totals.to_pay_carrier)
        ));
    }
    if figures.hidden.is_some() {
        rest.push(
            "Prices are hidden: shares of the whole are told in steps. Which charges, discounts and notes stand here still shows on which \
             side of the limits of laws and sellers a parcel lies, such as the value above which duty is due; and whoever knows the prices \
             of most parts can narrow down what the others come to together."
                .to_owned(),
        );
    }
    rest.extend(comparison(showing));
    rest.extend(weight(showing, totals.home.mass)?);
    if !showing.landed.open.is_empty() {
        rest.push(format!(
            "Not counted, no price yet: {}.",
            few(&showing.landed.open)
        ));
    }
    Ok(Verdict { first, rest })
}

/// What it weighs, and how far that is from the limit.
fn weight(showing: &Showing<'_>, sum: Grams) -> Result<Option<String>, Overflow> {
    let whole = showing.more.whole.as_ref();
    if whole.is_none() && sum.0.is_zero() {
        return Ok(None);
    }
    let grams = |d: Dec| format!("{} g", d.grouped(0));
    let (mut text, mass) = match whole {
        Some(scale) => (format!("{}.", difference::on_scale(scale)), scale.likely()),
        None => {
            let basis = compare_view::basis(showing.ask.basis);
            (
                format!("Its parts weigh {} together ({basis}).", grams(sum.0)),
                sum,
            )
        }
    };
    if let Some(limit) = showing.ask.max_mass {
        let distance = cost_view::distance(limit.minus(mass)?.0, grams);
        text.push_str(&format!(
            " That is {distance} the mass limit of {}.",
            grams(limit.0)
        ));
    }
    Ok(Some(text))
}

fn comparison(showing: &Showing<'_>) -> Option<String> {
    let comparison = showing.comparison.filter(|c| !c.bikes.is_empty())?;
    let beaten = comparison.beaten();
    let bikes = comparison.counted();
    let mine = &comparison.mine;
    // the prices of complete bikes are known: which of them it beats would bound its own
    if showing.figures.hidden.is_some() {
        return Some(format!(
            "It stands against {bikes} at {} g; how it compares in price is left out here.",
            mine.mass.0.grouped(0)
        ));
    }
    let words = match (beaten.is_empty(), mine.price_unknown.len()) {
        (_, unknown) if unknown > 0 => {
            format!(
                "; what {} cost to buy again is not known, so its price is a floor",
                count(unknown, "part", "parts")
            )
        }
        (true, _) => String::new(),
        (false, _) if mine.compared == Compared::Paid => {
            format!("; by what was paid it is both cheaper and lighter than {beaten}")
        }
        (false, _) => format!("; it is both cheaper and lighter than {beaten}"),
    };
    if mine.compared == Compared::Nothing {
        return Some(format!(
            "It stands against {bikes} at {} g; neither its price nor what was paid is known.",
            mine.mass.0.grouped(0)
        ));
    }
    if mine.has_no_mass() {
        return Some(format!(
            "It stands against {bikes} at {}; no mass of it is known.",
            showing.figures.money(mine.cost)
        ));
    }
    let price = format!("{} and ", showing.figures.money(mine.cost));
    let whole = if mine.empty.is_empty() {
        ""
    } else {
        ", though it is not whole yet: no verdict"
    };
    Some(format!(
        "It stands against {bikes} at {price}{} g{whole}{words}.",
        mine.mass.0.grouped(0)
    ))
}

/// All tables, after the pictures.
pub(super) fn tables(showing: &Showing<'_>) -> Result<Markup, Overflow> {
    let figures = &showing.figures;
    let open = figures.hidden.is_none();
    let (all, own) = (shown(showing.landed, &figures.show)?, figures.as_it_is());
    let sums = all
        .bills
        .iter()
        .map(|bill| Ok(own.money(bill.amounts.landed()?)))
        .collect::<Result<Vec<_>, Overflow>>()?;
    let parcels = cost_view::by_parcel(showing.landed, &figures.show, false)?;
    let bikes = showing
        .comparison
        .filter(|c| open && !c.bikes.is_empty())
        .map(|c| compare_view::compare_view(c, &figures.show, false))
        .transpose()?;
    let upgrades = showing
        .ranking
        .filter(|r| open && !r.options.is_empty())
        .map(|r| rank_view::rank_view(r, showing.ask, &figures.show, None))
        .transpose()?;
    Ok(html! {
        @if open {
            section class="book" { h2 { "By parcel" } (grid("By parcel", &parcels)) }
        }
        section class="book" { h2 { "By part" } (parts(&all, &own)?) }
        @if let Some(view) = &bikes {
            section class="book" { h2 { "Against complete bikes" } (view_tables("Against complete bikes", view)) }
        }
        @if let Some(view) = &upgrades {
            section class="book" { h2 { "Upgrades" } (view_tables("Upgrades", view)) }
        }
        @if open {
            section class="book" {
                h2 { "How every amount came about" }
                p { "Each line names the row of the tables it follows, in the margin; what is not due is struck through, with the reason." }
                @for (bill, sum) in showing.landed.bills.iter().zip(&sums) {
                    (trail(bill, sum, figures))
                }
            }
        }
    })
}

/// The tables of a view, with its notes.
fn view_tables(title: &str, view: &View) -> Markup {
    html! {
        @for block in view.whole() {
            @match block {
                Block::Table(table) => (grid(title, table)),
                Block::Answer(text) | Block::Sentence(text) => @if !text.is_empty() { p { (text) } },
                Block::Heading(_) | Block::Notes(_) | Block::Cautions(_) | Block::More(_) | Block::Brief(_) => {},
            }
        }
    }
}

/// A table of a view.
fn grid(title: &str, grid: &Grid) -> Markup {
    let width = grid.header.len();
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(title) {
            table {
                thead { tr { @for name in &grid.header { (head(name)) } } }
                tbody { @for row in &grid.rows { (grid_row(row, width)) } }
                @if let Some(foot) = &grid.foot { tfoot { (grid_row(foot, width)) } }
            }
        }
    }
}

fn head(name: &str) -> Markup {
    let name = name.replace("-\n", "-").replace('\n', " ");
    html! { @if name.is_empty() { td {} } @else { th scope="col" { (name) } } }
}

fn grid_row(row: &[Cell], width: usize) -> Markup {
    html! {
        @if let ([only], true) = (row, width > 1) {
            tr class="across" { th scope="rowgroup" colspan=(width) { (only.as_str()) } }
        } @else {
            tr { @for one in row { (cell(one)) } }
        }
    }
}

fn cell(cell: &Cell) -> Markup {
    html! {
        @match cell {
            Cell::Text(text) => td class="name" { (text.trim_start()) },
            Cell::Number(text) if is_zero(text) => td class="n nil" { s { (text) } },
            Cell::Number(text) => td class="n" { (text) },
            Cell::NotDue(text) => td class="n nil" { s { (text) } },
            Cell::Empty => td {},
        }
    }
}

/// Nothing is due: `0.00`, `0`.
fn is_zero(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| matches!(c, '0' | '.'))
}

/// A table of texts; all columns but the first hold figures.
pub(super) fn plain_table(title: &str, header: &[String], rows: &[Vec<String>]) -> Markup {
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(format!("{title}: table")) {
            table {
                thead { tr { @for name in header { th scope="col" { (name) } } } }
                tbody { @for row in rows { tr { @for (at, text) in row.iter().enumerate() { td class=(if at == 0 { "name" } else { "n" }) { (text) } } } } }
            }
        }
    }
}

/// The parts, each with its row of the book in the margin.
fn parts(landed: &ShownLanded<'_>, figures: &Figures) -> Result<Markup, Overflow> {
    // where prices are hidden, what a part lands at is told once, without its price and what comes on top of it
    let open = figures.hidden.is_none();
    let heads_of_figures = if open {
        &["price", "on top", "lands at"][..]
    } else {
        &["lands at"]
    };
    let mut rows = Vec::new();
    for bill in &landed.bills {
        for line in &bill.lines {
            let price = line.amounts.net_goods()?;
            let sum = line.amounts.landed()?;
            let line = line.home;
            let name = named(&line.part, line.quantity);
            let apart = if open {
                vec![figures.amount(price), figures.amount(sum.minus(price)?)]
            } else {
                Vec::new()
            };
            let cells = [apart, vec![figures.amount(sum)]].concat();
            rows.push((
                line.row.clone(),
                name,
                bill.home.id.clone(),
                line.places.join(" + "),
                cells,
            ));
        }
    }
    rows.extend(landed.held.iter().map(|held| held_row(held, figures)));
    rows.sort_by(|a, b| a.1.cmp(&b.1));
    let heads = ["part", "place", "parcel"];
    Ok(html! {
        div class="scroll" tabindex="0" role="region" aria-label="By part" {
            table {
                thead { tr {
                    th class="where" scope="col" { "row" }
                    @for name in heads { th scope="col" { (name) } }
                    @for name in heads_of_figures { th class="n" scope="col" { (name) } }
                } }
                tbody {
                    @for (place, name, parcel, places, cells) in &rows {
                        tr {
                            td class="where" title=(place) { (line_of(place)) }
                            td class="name" { (name) } td { (places) } td { (parcel) }
                            @for one in cells { td class="n" { (one) } }
                        }
                    }
                }
            }
        }
    })
}

fn named(part: &str, quantity: u32) -> String {
    if quantity > 1 {
        format!("{part} × {quantity}")
    } else {
        part.to_owned()
    }
}

type PartRow = (String, String, String, String, Vec<String>);

fn held_row(held: &ShownHeld<'_>, figures: &Figures) -> PartRow {
    let paid = held
        .paid
        .map_or("not known".to_owned(), |paid| figures.amount(paid));
    let apart = if figures.hidden.is_none() {
        vec![String::new(); 2]
    } else {
        Vec::new()
    };
    let held = held.home;
    let origin = if held.given { "given" } else { "in hand" };
    (
        held.row.clone(),
        named(&held.part, held.quantity),
        origin.to_owned(),
        held.places.join(" + "),
        [apart, vec![paid]].concat(),
    )
}

/// `7` of `examples/first-build/parts.csv:7`, and of `book.xlsx, sheet parts, row 7`.
fn line_of(place: &str) -> &str {
    place.rsplit([':', ' ']).next().unwrap_or(place)
}

/// How the amounts of one parcel came about, under a fold.
fn trail(bill: &Bill, sum: &str, figures: &Figures) -> Markup {
    let kind = match bill.kind {
        ConsignmentState::ToOrder => "",
        ConsignmentState::OnOrder => ", on order",
        ConsignmentState::InHand => ", in hand",
        ConsignmentState::Gift => ", gift",
    };
    let title = format!("{}{kind}", bill.id);
    html! {
        details {
            summary { (title) " lands at " (sum) }
            div class="scroll" tabindex="0" role="region" aria-label=(format!("Trail of {title}")) {
                table {
                    thead { tr { th class="where" scope="col" { "row" } th scope="col" { "what" } th class="n" scope="col" { "amount" } th scope="col" { "how, and the source" } } }
                    tbody { @for step in &bill.trail { (trail_row(step, bill, figures)) } }
                }
            }
        }
    }
}

fn trail_row(step: &Step, bill: &Bill, figures: &Figures) -> Markup {
    let own = figures.show.as_it_is();
    let amount = step.amount.map(|amount| match step.kind {
        "price" | "discount" => Money::new(amount, bill.paid_in).to_string(),
        _ => own.amount(amount),
    });
    let nil = step.amount.is_none() && step.kind != "exchange";
    let rows = step.row.iter().chain(&step.rate_rows);
    html! {
        tr class=(if nil { "nil" } else { "" }) {
            td class="where" { @for row in rows { span { (short(&row.to_string())) } } }
            td { @if nil { s { (step.id.replace('_', " ")) } } @else { (step.id.replace('_', " ")) } }
            td class="n" { @match &amount { Some(amount) => (amount), None if nil => s { "nil" }, None => "" } }
            td class="how" { (step.text) " " span class="source" { (step.source) @for rate in &step.rate_sources { "; " (rate) } (trail_view::marks(step)) } }
        }
    }
}

/// `gb/charges.csv:14` of `rates/gb/charges.csv:14`.
fn short(row: &str) -> &str {
    row.strip_prefix("rates/").unwrap_or(row)
}

/// Cautions and the ages of the tables.
pub(super) fn foot(showing: &Showing<'_>) -> Markup {
    let of_others = showing
        .comparison
        .iter()
        .flat_map(|c| &c.cautions)
        .chain(showing.ranking.iter().flat_map(|r| &r.cautions));
    let mut all: Vec<&Caution> = Vec::new();
    for caution in showing.landed.cautions.iter().chain(of_others) {
        if !all
            .iter()
            .any(|known| known.id == caution.id && known.text == caution.text)
        {
            all.push(caution);
        }
    }
    html! {
        section class="cautions" {
            h2 { "Before you order" }
            ul { @for caution in &all { li { (caution_text(showing, caution)) @if !caution.about.is_empty() { " " span class="about" { "(" (few(&caution.about)) ")" } } } } }
            p class="ages" { (rates_view::tables_line(showing.jurisdiction, showing.ask)) }
        }
    }
}

fn caution_text(showing: &Showing<'_>, caution: &Caution) -> String {
    let mut text = showing.figures.caution(caution);
    if let Some(first) = text.get(..1) {
        text = format!("{}{}", first.to_uppercase(), &text[1..]);
    }
    text
}
