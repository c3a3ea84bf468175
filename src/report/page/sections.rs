//! The pieces of the page: the verdict, the tables ruled like a ledger with the row in the margin, the cautions.

use maud::{Markup, html};

use super::parts;
use crate::compare::Compared;
use crate::landed::{Bill, ConsignmentState, Step};
use crate::report::gallery::Showing;
use crate::report::plain::row_place;
use crate::report::redact::Figures;
use crate::report::shown::{ShownLanded, ShownSums};
use crate::report::view::{Block, Cell, Grid, View};
use crate::report::{
    build_limits, compare_view, cost_view, difference, parcel_table, rank_view, shown, trail_view,
};
use crate::text::words::{count, few};
use crate::units::{Dec, Grams, Money, Overflow};

/// What stands under the answer, in sentences.
pub(super) fn said(showing: &Showing<'_>) -> Result<Vec<String>, Overflow> {
    let mut said = Vec::new();
    if showing.figures.hidden.is_some() {
        said.push(
            "Prices are hidden: shares of the whole are told in steps. Which charges, discounts and notes stand here still shows on which \
             side of the limits of laws and sellers a parcel lies, such as the value above which duty is due; and whoever knows the prices \
             of most parts can narrow down what the others come to together."
                .to_owned(),
        );
    } else {
        let lines = cost_view::headlines(showing.landed, &showing.figures.show)?;
        said.extend(lines.into_iter().skip(1).map(|line| line.replace('`', "")));
    }
    said.extend(comparison(showing));
    said.extend(weight(showing, showing.landed.totals.mass)?);
    if !showing.landed.open.is_empty() {
        said.push(format!(
            "Not counted, no price yet: {}.",
            few(&showing.landed.open)
        ));
    }
    Ok(said)
}

/// What it weighs, and how far that is from the limit.
fn weight(showing: &Showing<'_>, sum: Grams) -> Result<Option<String>, Overflow> {
    let whole = showing.more.whole.as_ref();
    if whole.is_none() && sum.0.is_zero() {
        return Ok(None);
    }
    let grams = |d: Dec| format!("{} g", d.grouped(0));
    let limit = showing.ask.max_mass;
    if let (Some(scale), Some(limit)) = (whole, limit) {
        let distance = build_limits::distance(limit.minus(scale.likely())?.0, grams);
        let beside = format!("{distance} the weight limit of {}", grams(limit.0));
        let text = difference::on_scale_beside(scale, showing.ask.basis, &beside);
        return Ok(Some(text));
    }
    if let Some(scale) = whole {
        return Ok(Some(format!("{}.", difference::on_scale(scale))));
    }
    let basis = compare_view::basis(showing.ask.basis);
    let mut text = format!("Its parts weigh {} together ({basis}).", grams(sum.0));
    if let Some(limit) = limit {
        let distance = build_limits::distance(limit.minus(sum)?.0, grams);
        text.push_str(&format!(
            " That is {distance} the weight limit of {}.",
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
            "Compared with {bikes}, it weighs {} g; how it compares in price is left out here.",
            mine.mass.0.grouped(0)
        ));
    }
    let words = match (beaten.is_empty(), mine.price_unknown.len()) {
        (_, unknown) if unknown > 0 => {
            format!(
                "; what {} cost to buy again is not known, so its price is the least it can be",
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
            "Compared with {bikes}, it weighs {} g; neither its price nor what was paid is known.",
            mine.mass.0.grouped(0)
        ));
    }
    if mine.has_no_mass() {
        return Some(format!(
            "Compared with {bikes}, it costs {}; no mass of it is known.",
            showing.figures.money(mine.cost)
        ));
    }
    let price = format!("{} and weighs ", showing.figures.money(mine.cost));
    let whole = if mine.empty.is_empty() {
        ""
    } else {
        ", though it is not whole yet: no verdict"
    };
    Some(format!(
        "Compared with {bikes}, it costs {price}{} g{whole}{words}.",
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
    let parcels = parcels(showing, &all)?;
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
        section class="book" { h2 { "By part" } (parts::parts(showing, &all, &own)?) }
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
                @for (at, (bill, sum)) in showing.landed.bills.iter().zip(&sums).enumerate() {
                    (trail((at, bill), sum, figures))
                }
            }
        }
    })
}

/// The parcels, what each lands at beside its name; where something is disputed, what it would land at decided otherwise.
fn parcels(showing: &Showing<'_>, all: &ShownLanded<'_>) -> Result<Grid, Overflow> {
    let show = &showing.figures.show;
    let mut grid = parcel_table::by_parcel(showing.landed, show, false)?;
    let otherwise = otherwise_by_row(all, &show.as_it_is())?;
    let last = grid.header.pop().unwrap_or_default();
    grid.header.insert(1, last);
    if let Some((other, _)) = all.decided_otherwise()? {
        let word = if other < all.totals.landed()? {
            "without"
        } else {
            "with"
        };
        grid.header.push(format!("{word} what is disputed"));
    }
    let width = grid.header.len();
    let mut others = otherwise.into_iter().flatten();
    for row in grid.rows.iter_mut().chain(grid.foot.as_mut()) {
        let last = row.pop().unwrap_or(Cell::Empty);
        row.insert(1, last);
        row.extend((row.len() < width).then(|| others.next().unwrap_or(Cell::Empty)));
    }
    Ok(grid)
}

/// What each row of the parcels would land at with what is disputed decided otherwise; none where nothing is.
fn otherwise_by_row(
    all: &ShownLanded<'_>,
    show: &crate::report::Show,
) -> Result<Option<Vec<Cell>>, Overflow> {
    let Some((other, _)) = all.decided_otherwise()? else {
        return Ok(None);
    };
    let without = other == all.totals.landed_undisputed;
    let mut cells = Vec::new();
    for bill in &all.bills {
        let own = if without {
            bill.landed_undisputed
        } else {
            bill.landed_with_disputed
        };
        cells.push(Cell::number(show.amount(own)));
        cells.extend((bill.in_price != ShownSums::default()).then_some(Cell::Empty));
    }
    if !all.held.is_empty() {
        cells.push(Cell::number(show.amount(all.totals.held)));
    }
    cells.push(Cell::number(show.amount(other)));
    Ok(Some(cells))
}

/// What a screen of a view shows, without its cautions and its end, which the page says once at its foot; under a fold what a screen
/// shows with `--more`, and the whole of a table that was too wide for it.
fn view_tables(title: &str, view: &View) -> Markup {
    let is_end = |block: &&Block| matches!(block, Block::Sentence(text) if text.is_empty());
    let first = view.blocks.iter().take_while(|block| !is_end(block));
    let shown = first.flat_map(|block| match block {
        Block::Brief(brief) => brief.iter().collect(),
        other => vec![other],
    });
    let whole = view.blocks.iter().filter_map(|block| match block {
        Block::Table(table) if table.on_screen.is_some() => Some(vec![block]),
        Block::More(hidden) => Some(hidden.iter().collect()),
        _ => None,
    });
    let whole: Vec<&Block> = whole.flatten().collect();
    html! {
        @for block in shown { (view_block(title, block, true)) }
        @if !whole.is_empty() {
            details {
                summary { (title) ": the whole of it" }
                @for block in whole { (view_block(title, block, false)) }
            }
        }
    }
}

/// A piece of a view; `brief` is the table as a screen shows it.
fn view_block(title: &str, block: &Block, brief: bool) -> Markup {
    let title = if brief {
        title.to_owned()
    } else {
        format!("{title}, whole")
    };
    html! {
        @match block {
            Block::Table(table) => @match table.on_screen.as_deref().filter(|_| brief) {
                Some(short) => (grid(&title, short)),
                None => (grid(&title, table)),
            },
            Block::Answer(text) | Block::Sentence(text) => @if !text.is_empty() {
                p { (with_code(&text.replace("(`--more` says why)", "(why stands under the fold)"))) }
            },
            Block::Heading(text) if !brief => h3 { (text) },
            Block::Notes(lines) if !brief => ul { @for line in lines { li { (with_code(line)) } } },
            Block::Heading(_) | Block::Notes(_) | Block::Cautions(_) | Block::More(_) | Block::Brief(_) => {},
        }
    }
}

/// A table of a view.
pub(super) fn grid(title: &str, grid: &Grid) -> Markup {
    let width = grid.header.len();
    let is_figure = |at: usize| {
        let mut cells = grid
            .rows
            .iter()
            .filter_map(|row| row.get(at).filter(|_| row.len() == width));
        cells.any(|cell| matches!(cell, Cell::Number(_) | Cell::NotDue(_)))
    };
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(format!("{title}: {}", grid.name)) {
            table {
                thead { tr { @for (at, name) in grid.header.iter().enumerate() { (head(name, is_figure(at))) } } }
                tbody { @for row in &grid.rows { (grid_row(row, width)) } }
                @if let Some(foot) = &grid.foot { tfoot { (grid_row(foot, width)) } }
            }
        }
    }
}

/// The head of a column, over its figures where it has figures.
pub(super) fn head(name: &str, figures: bool) -> Markup {
    let name = name.replace("-\n", "-").replace('\n', " ");
    html! { @if name.is_empty() { td {} } @else { th scope="col" class=[figures.then_some("n")] { (name) } } }
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
            Cell::Number(text) if text == "-" || is_zero(text) => (dash()),
            Cell::Number(text) => td class="n" { (text) },
            Cell::NotDue(text) => td class="n nil" { s { (text) } },
            Cell::Empty => td {},
        }
    }
}

/// A sentence in which what a user writes in a table or types stands in a lettering of its own.
pub(super) fn with_code(text: &str) -> Markup {
    html! { @for (at, piece) in text.split('`').enumerate() { @if at % 2 == 1 { code { (piece) } } @else { (piece) } } }
}

/// Nothing, in a column of figures.
pub(super) fn dash() -> Markup {
    html! { td class="n nil" { "–" } }
}

/// Nothing is due: `0.00`, `0`.
pub(super) fn is_zero(text: &str) -> bool {
    !text.is_empty() && text.chars().all(|c| matches!(c, '0' | '.'))
}

/// A table of texts; all columns but the first hold figures.
pub(super) fn plain_table(title: &str, header: &[String], rows: &[Vec<String>]) -> Markup {
    html! {
        div class="scroll" tabindex="0" role="region" aria-label=(format!("{title}: table")) {
            table {
                thead { tr { @for (at, name) in header.iter().enumerate() { (head(name, at > 0)) } } }
                tbody { @for row in rows { tr { @for (at, text) in row.iter().enumerate() { td class=(if at == 0 { "name" } else { "n" }) { (text) } } } } }
            }
        }
    }
}

/// How the amounts of one parcel came about, under a fold.
fn trail((at, bill): (usize, &Bill), sum: &str, figures: &Figures) -> Markup {
    let kind = match bill.kind {
        ConsignmentState::ToOrder => "",
        ConsignmentState::OnOrder => ", on order",
        ConsignmentState::InHand => ", in hand",
        ConsignmentState::Gift => ", gift",
    };
    let title = format!("{}{kind}", parcel_table::parcel_name(bill));
    html! {
        details class="trail" id=(trail_id(at)) {
            summary { (title) ": landed cost " (sum) }
            div class="scroll" tabindex="0" role="region" aria-label=(format!("Trail of {title}")) {
                table {
                    thead { tr { th class="where" scope="col" { "row" } th scope="col" { "what" } th class="n" scope="col" { "amount" } th scope="col" { "how, and the source" } } }
                    tbody { @for step in &bill.trail { (trail_row(step, bill, figures)) } }
                }
            }
        }
    }
}

/// What a link to the trail of a parcel leads to.
pub(super) fn trail_id(at: usize) -> String {
    format!("parcel-{}", at + 1)
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

/// `gb/charges.csv:14` of `rates/gb/charges.csv:14`, and `parts.csv:14` of a book's own row.
fn short(row: &str) -> &str {
    row.strip_prefix("rates/").unwrap_or_else(|| row_place(row))
}
