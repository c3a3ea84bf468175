//! Bars: from the price tags to the door, part by part, what moves the total, and what was expected against what came.

use super::axis::Axis;
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, fitted, width_of};
use crate::report::redact::Figures;
use crate::report::shown::{ShownLanded, ShownSums};
use crate::units::{Dec, Overflow, ShownMoney};

/// A piece of a sum: what it is, what it is called, and how much.
type Piece = (Thing, &'static str, ShownMoney);

/// The pieces a pound goes to, in the order of the sum.
pub(super) fn pieces(a: &ShownSums, tax: &'static str) -> Result<Vec<Piece>, Overflow> {
    Ok(vec![
        (Thing::Goods, "goods", a.net_goods()?),
        (Thing::Freight, "freight", a.freight.plus(a.insurance)?),
        (Thing::Duty, "duty", a.duty),
        (Thing::Remedy, "anti-dumping", a.remedy),
        (Thing::Tax, tax, a.tax()?),
        (Thing::Handling, "carrier's fee", a.handling),
        (Thing::CardFee, "card fee", a.card_fee),
    ])
}

/// The columns of a picture of bars.
struct Columns {
    left: i64,
    bars: i64,
    end: i64,
    right: i64,
    row: i64,
}

fn columns(sketch: &Sketch, names: i64, figures: i64) -> Columns {
    let (left, right) = (sketch.margin(), sketch.width - sketch.margin());
    Columns {
        left,
        bars: left + names,
        end: right - figures,
        right,
        row: sketch.letter * 2,
    }
}

/// From the price tags to the door: each charge begins where the sum before it ends.
pub(crate) fn by_charge(
    landed: &ShownLanded<'_>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let total = landed.totals.landed()?;
    let all = pieces(&landed.totals.amounts, figures.show.tax())?;
    let all: Vec<_> = all
        .into_iter()
        .filter(|(_, _, amount)| !amount.is_zero())
        .collect();
    let steps = steps(landed, &all)?;
    let title = "From the price tags to the door".to_owned();
    let mut sketch = Sketch::new(shape, &title, foot);
    let c = columns(&sketch, sketch.letter * 15 / 2, sketch.letter * 13 / 2);
    let rows = i64::try_from(steps.len() + 1).unwrap_or(8);
    let row = sketch.bottom.map_or(c.row, |bottom| {
        ((bottom - sketch.top) / rows).min(c.row * 2)
    });
    let axis = Axis::new(
        Dec::ZERO,
        total.max(landed.totals.tags).amount().max(Dec::ONE),
        c.bars,
        c.end,
    )?;
    let (mut y, mut sum) = (sketch.top, ShownMoney::ZERO);
    let mut table = Vec::new();
    for (thing, name, amount) in &steps {
        let (from, to) = (
            axis.at(sum.amount())?,
            axis.at(sum.plus(*amount)?.amount())?,
        );
        bar(
            &mut sketch,
            &c,
            y,
            row,
            name,
            &figures.amount(*amount),
            "ink",
        );
        sketch.rect(
            (from.min(to), y + row / 6),
            ((to - from).abs().max(12), row * 2 / 3),
            thing.class(),
        );
        sum = sum.plus(*amount)?;
        sketch.line((to, y + row / 6), (to, y + row + row * 5 / 6), "rule");
        table.push(vec![(*name).to_owned(), figures.amount(*amount)]);
        y += row;
    }
    sketch.line((c.left, y), (c.right, y), "line");
    let lands_at = if figures.hidden.is_some() {
        figures.amount(Dec::HUNDRED)
    } else {
        figures.amount(total)
    };
    bar(&mut sketch, &c, y, row, "lands at", &lands_at, "ink bold");
    let mut x = c.bars;
    let mut run = ShownMoney::ZERO;
    for (thing, _, amount) in all.iter().filter(|(_, _, amount)| amount.is_positive()) {
        run = run.plus(*amount)?;
        let to = axis.at(run.amount())?;
        sketch.rect((x, y + row / 6), (to - x, row * 2 / 3), thing.class());
        sketch.line((to, y + row / 6), (to, y + row * 5 / 6), "gap");
        x = to;
    }
    table.push(vec!["lands at".to_owned(), lands_at]);
    let said: Vec<String> = table.iter().map(|row| row.join(" ")).collect();
    let alt = format!(
        "Steps from the price tags to the landed cost: {}.",
        said.join(", ")
    );
    Ok(sketch.done(
        "by-charge",
        title,
        alt,
        (vec!["what".to_owned(), "amount".to_owned()], table),
        y + row + 40,
    ))
}

/// From the tags as typed: what codes and a seller's own tax take off stands before the charges.
fn steps(landed: &ShownLanded<'_>, pieces: &[Piece]) -> Result<Vec<Piece>, Overflow> {
    let a = &landed.totals.amounts;
    let (tags, goods) = (landed.totals.tags, a.net_goods()?);
    let off = goods.minus(tags)?;
    if off.is_zero() {
        return Ok(pieces.to_vec());
    }
    let begin = [
        (Thing::Goods, "price tags", tags),
        (Thing::Goods, "off the tags", off),
    ];
    Ok(begin
        .into_iter()
        .chain(
            pieces
                .iter()
                .copied()
                .filter(|(thing, ..)| *thing != Thing::Goods),
        )
        .collect())
}

/// A name to the left and a figure to the right of a bar.
fn bar(sketch: &mut Sketch, c: &Columns, y: i64, row: i64, name: &str, figure: &str, class: &str) {
    let base = y + row / 2 + sketch.letter * 7 / 20;
    let name = fitted(name, c.bars - c.left - 60, sketch.letter);
    sketch.text((c.left, base), &name, class, Hang::Start);
    sketch.text((c.right, base), figure, class, Hang::End);
}

/// Where each pound goes, part by part: the dearest first, the rest together.
pub(crate) fn by_part(
    landed: &ShownLanded<'_>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let open = figures.hidden.is_none();
    let title = if open {
        "Where each pound goes, part by part".replace("pound", unit(figures))
    } else {
        "What each part lands at, in steps of the whole".to_owned()
    };
    let mut sketch = Sketch::new(shape, &title, foot);
    let mut parts = part_sums(landed)?;
    let table = part_table(&parts, figures)?;
    let c = columns(
        &sketch,
        sketch.letter * 25 / 2,
        if open {
            sketch.letter * 5
        } else {
            sketch.letter * 13 / 2
        },
    );
    if open {
        legend(&mut sketch, landed, figures)?;
    }
    let most = sketch.bottom.map_or(14, |bottom| {
        usize::try_from((bottom - sketch.top) / (c.row * 7 / 10))
            .unwrap_or(8)
            .clamp(4, 24)
    });
    let rest = if parts.len() > most {
        parts.split_off(most - 1)
    } else {
        Vec::new()
    };
    if !rest.is_empty() {
        let together = ShownSums::total(rest.iter().map(|(_, amounts)| amounts))?;
        parts.push((format!("{} other parts", rest.len()), together));
    }
    let rows = i64::try_from(parts.len()).unwrap_or(1).max(1);
    let row = sketch.bottom.map_or(c.row * 9 / 10, |bottom| {
        ((bottom - sketch.top) / rows).min(c.row * 3 / 2)
    });
    let longest = parts
        .iter()
        .map(|(_, a)| a.landed())
        .collect::<Result<Vec<_>, _>>()?
        .into_iter()
        .max()
        .map_or(Dec::ONE, ShownMoney::amount);
    let axis = Axis::new(Dec::ZERO, longest, c.bars, c.end)?;
    let mut y = sketch.top;
    for (name, amounts) in &parts {
        bar(
            &mut sketch,
            &c,
            y,
            row,
            name,
            &figures.amount(amounts.landed()?),
            "ink",
        );
        stack(&mut sketch, amounts, figures, &axis, (c.bars, y, row))?;
        y += row;
    }
    let first = parts
        .first()
        .map(|(name, _)| name.as_str())
        .unwrap_or_default();
    let alt = if open {
        format!(
            "Bars of what each part lands at, its price and each charge on top; the longest is {first}."
        )
    } else {
        "Bars of the step that the share of each part lies in.".to_owned()
    };
    Ok(sketch.done("by-part", title, alt, table, y + 40))
}

fn unit(figures: &Figures) -> &'static str {
    match figures.show.currency.code() {
        "GBP" => "pound",
        "USD" | "CAD" | "AUD" | "NZD" | "SGD" => "dollar",
        "EUR" => "euro",
        "CHF" => "franc",
        "JPY" => "yen",
        _ => "unit of money",
    }
}

fn part_sums(landed: &ShownLanded<'_>) -> Result<Vec<(String, ShownSums)>, Overflow> {
    let lines = landed
        .bills
        .iter()
        .flat_map(|bill| &bill.lines)
        .map(|line| (line.home.part.clone(), line.amounts));
    let held = landed.held.iter().filter_map(|held| {
        Some((
            held.home.part.clone(),
            ShownSums {
                goods: held.paid?,
                ..ShownSums::default()
            },
        ))
    });
    let mut keyed = Vec::new();
    for (name, amounts) in lines.chain(held) {
        let sum = amounts.landed()?;
        if sum.is_positive() {
            keyed.push((sum, name, amounts));
        }
    }
    keyed.sort_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
    Ok(keyed
        .into_iter()
        .map(|(_, name, amounts)| (name, amounts))
        .collect())
}

fn part_table(
    parts: &[(String, ShownSums)],
    figures: &Figures,
) -> Result<(Vec<String>, Vec<Vec<String>>), Overflow> {
    let mut header = vec!["part".to_owned()];
    let mut rows = Vec::new();
    let of = |amounts: &ShownSums| pieces(amounts, figures.show.tax());
    let all = ShownSums::total(parts.iter().map(|(_, a)| a))?;
    let used: Vec<bool> = of(&all)?
        .iter()
        .map(|(_, _, amount)| !amount.is_zero() && figures.hidden.is_none())
        .collect();
    header.extend(
        of(&all)?
            .iter()
            .zip(&used)
            .filter(|(_, used)| **used)
            .map(|((_, name, _), _)| (*name).to_owned()),
    );
    header.push("lands at".to_owned());
    for (name, amounts) in parts {
        let mut row = vec![name.clone()];
        row.extend(
            of(amounts)?
                .iter()
                .zip(&used)
                .filter(|(_, used)| **used)
                .map(|((_, _, amount), _)| figures.amount(*amount)),
        );
        row.push(figures.amount(amounts.landed()?));
        rows.push(row);
    }
    Ok((header, rows))
}

fn stack(
    sketch: &mut Sketch,
    amounts: &ShownSums,
    figures: &Figures,
    axis: &Axis,
    at: (i64, i64, i64),
) -> Result<(), Overflow> {
    let (mut x, y, row) = at;
    let mut sum = ShownMoney::ZERO;
    for (thing, _, amount) in pieces(amounts, figures.show.tax())?
        .into_iter()
        .filter(|(_, _, amount)| amount.is_positive())
    {
        sum = sum.plus(amount)?;
        let to = axis.at(sum.amount())?;
        sketch.rect((x, y + row / 5), (to - x, row * 3 / 5), thing.class());
        if to - x > 60 {
            sketch.line((to, y + row / 5), (to, y + row * 4 / 5), "gap");
        }
        x = to;
    }
    Ok(())
}

/// The names of the colours, over the drawing.
fn legend(
    sketch: &mut Sketch,
    landed: &ShownLanded<'_>,
    figures: &Figures,
) -> Result<(), Overflow> {
    let (left, right) = (sketch.margin(), sketch.width - sketch.margin());
    let size = sketch.letter;
    let (mut x, mut y) = (left, sketch.top + size / 2);
    for (thing, name, amount) in pieces(&landed.totals.amounts, figures.show.tax())? {
        if amount.is_zero() {
            continue;
        }
        let width = size * 3 / 2 + width_of(name, size);
        if x + width > right {
            x = left;
            y += size * 3 / 2;
        }
        sketch.rect(
            (x, y - size * 3 / 4),
            (size * 4 / 5, size * 4 / 5),
            thing.class(),
        );
        sketch.text((x + size * 11 / 10, y), name, "ink", Hang::Start);
        x += width + size / 2;
    }
    sketch.top = y + size * 3 / 4;
    Ok(())
}
