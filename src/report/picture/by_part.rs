//! What each part costs at the door, in two tones.

use super::axis::Axis;
use super::bars::{Columns, Piece, bar, columns, pieces};
use super::foot::Foot;
use super::palette::Thing;
use super::sketch::{Hang, Picture, Shape, Sketch, width_of};
use crate::report::redact::Figures;
use crate::report::shown::{ShownLanded, ShownSums};
use crate::units::{Dec, Overflow, ShownMoney};

/// What each part costs at the door, in two tones, its price and what comes on top: the dearest first. What the rest come to together is
/// said under the bars, outside their scale.
pub(crate) fn by_part(
    landed: &ShownLanded<'_>,
    figures: &Figures,
    shape: Shape,
    foot: &Foot,
) -> Result<Picture, Overflow> {
    let open = figures.hidden.is_none();
    let mut parts = part_sums(landed)?;
    let title = if open {
        half_of_it(&parts)?
    } else {
        "What each part costs at the door, in steps of the whole".to_owned()
    };
    let mut sketch = Sketch::new(shape, &title, foot);
    let table = part_table(&parts, figures)?;
    let size = sketch.letter;
    if open {
        legend(&mut sketch, landed)?;
    }
    // A wide picture has no height for a name over each bar.
    let least = if shape == Shape::Wide {
        size * 7 / 5
    } else {
        size * 13 / 5
    };
    let most = sketch.bottom.map_or(10, |bottom| {
        usize::try_from((bottom - sketch.top) / least)
            .unwrap_or(8)
            .clamp(4, 24)
    });
    let rest = if parts.len() > most {
        parts.split_off(most - 1)
    } else {
        Vec::new()
    };
    let rows = i64::try_from(parts.len() + usize::from(!rest.is_empty()))
        .unwrap_or(1)
        .max(1);
    let row = sketch.bottom.map_or(size * 13 / 5, |bottom| {
        let row = (bottom - sketch.top) / rows;
        if shape == Shape::Tall {
            row
        } else {
            row.min(size * 4)
        }
    });
    let lines = PartLines::new(&sketch, row, &parts, figures)?;
    let axis = lines.axis(&sketch, &parts, figures)?;
    let mut y = sketch.top;
    for (name, amounts) in &parts {
        let sum = figures.amount(amounts.landed()?);
        bar(&mut sketch, &lines.names, y, lines.name, name, &sum, "ink");
        let at = (lines.bars.bars, lines.bars.end, y + lines.over, lines.high);
        two_tones(&mut sketch, (name, amounts), figures, &axis, at)?;
        y += row;
    }
    if !rest.is_empty() {
        let together = ShownSums::total(rest.iter().map(|(_, amounts)| amounts))?;
        let name = format!("{} other parts", rest.len());
        let sum = figures.amount(together.landed()?);
        bar(
            &mut sketch,
            &lines.names,
            y,
            size * 8 / 5,
            &name,
            &sum,
            "faint",
        );
        y += size * 8 / 5;
    }
    let first = parts
        .first()
        .map(|(name, _)| name.as_str())
        .unwrap_or_default();
    let alt = if open {
        format!(
            "Bars of what each part costs at the door, its price and what comes on top; the longest is {first}."
        )
    } else {
        "Bars of the step that the share of each part lies in.".to_owned()
    };
    Ok(sketch.done("by-part", title, alt, table, y + 40))
}

/// Where the name of a part stands and where its bar: beside each other, or one over the other where there is height for that.
struct PartLines {
    names: Columns,
    bars: Columns,
    /// How high the line of the name is.
    name: i64,
    /// How far under the name's line the bar begins, and how high it is.
    over: i64,
    high: i64,
}

impl PartLines {
    fn new(
        sketch: &Sketch,
        row: i64,
        parts: &[(String, ShownSums)],
        figures: &Figures,
    ) -> Result<PartLines, Overflow> {
        let size = sketch.letter;
        let sums = parts.iter().map(|(_, a)| Ok(figures.amount(a.landed()?)));
        let sums = sums.collect::<Result<Vec<_>, Overflow>>()?;
        let figure = sums.iter().map(|sum| width_of(sum, size)).max();
        let figure = figure.unwrap_or(0) + size / 2;
        if row < size * 5 / 2 {
            let names = parts.iter().map(|(name, _)| width_of(name, size)).max();
            let most = (sketch.width - 2 * sketch.margin()) * 2 / 5;
            let both = columns(sketch, (names.unwrap_or(0) + size / 2).min(most), figure);
            return Ok(PartLines {
                names: both,
                bars: both,
                name: row,
                over: 0,
                high: row,
            });
        }
        let bars = columns(sketch, 0, 0);
        let names = Columns {
            bars: bars.right - figure,
            ..bars
        };
        Ok(PartLines {
            names,
            bars,
            name: size * 7 / 5,
            over: size * 7 / 5,
            high: row - size * 8 / 5,
        })
    }

    /// As long as behind every bar there is room for the name of its largest charge; where that would leave bars too short, names
    /// are left out.
    fn axis(
        &self,
        sketch: &Sketch,
        parts: &[(String, ShownSums)],
        figures: &Figures,
    ) -> Result<Axis, Overflow> {
        let longest = parts
            .first()
            .map_or(Ok(Dec::ONE), |(_, a)| a.landed().map(ShownMoney::amount))?;
        let (from, mut end) = (self.bars.bars, self.bars.end);
        let least = from + (end - from) * 2 / 5;
        if figures.hidden.is_some() {
            return Axis::new(Dec::ZERO, longest, from, end);
        }
        let mut wanted = Vec::new();
        for (_, amounts) in parts {
            let largest = charges(amounts, figures)?.into_iter().next();
            let width = largest.map_or(0, |text| width_of(&text, sketch.small()) + sketch.letter);
            wanted.push((amounts.landed()?.amount(), width));
        }
        loop {
            let axis = Axis::new(Dec::ZERO, longest, from, end)?;
            let mut fits = true;
            for (sum, width) in &wanted {
                fits &= axis.at(*sum)? + width <= self.bars.end;
            }
            if fits || end <= least {
                return Ok(axis);
            }
            end -= sketch.letter / 2;
        }
    }
}

/// What comes on top of a part's price, the largest first: `VAT 43.20`.
fn charges(amounts: &ShownSums, figures: &Figures) -> Result<Vec<String>, Overflow> {
    let mut charges = pieces(amounts, figures.show.tax())?;
    charges.retain(|(thing, _, amount)| *thing != Thing::Goods && amount.is_positive());
    charges.sort_by_key(|(_, _, amount)| std::cmp::Reverse(*amount));
    let said = |(_, name, amount): &Piece| format!("{name} {}", figures.amount(*amount));
    Ok(charges.iter().map(said).collect())
}

/// How few parts take half of the money, as a heading.
fn half_of_it(parts: &[(String, ShownSums)]) -> Result<String, Overflow> {
    let sums = parts
        .iter()
        .map(|(_, a)| a.landed())
        .collect::<Result<Vec<_>, _>>()?;
    let all = ShownMoney::total(sums.iter().copied())?;
    let (mut run, mut few) = (ShownMoney::ZERO, 0);
    for sum in &sums {
        if run.plus(run)? >= all {
            break;
        }
        (run, few) = (run.plus(*sum)?, few + 1);
    }
    Ok(match (few, parts) {
        (_, []) => "What each part costs at the door".to_owned(),
        (_, [(only, _)]) => format!("All of it is {only}"),
        (1, [(first, _), ..]) => format!("Half of the money or more goes to {first}"),
        (few, parts) => format!("{few} of {} parts take half of the money", parts.len()),
    })
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
    header.push("landed cost".to_owned());
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

/// A bar in two tones: the price, and what comes on top, whose largest charges are named behind it where there is room.
fn two_tones(
    sketch: &mut Sketch,
    (name, amounts): (&str, &ShownSums),
    figures: &Figures,
    axis: &Axis,
    (left, right, y, row): (i64, i64, i64, i64),
) -> Result<(), Overflow> {
    let (goods, sum) = (amounts.net_goods()?, amounts.landed()?);
    let (from, end) = (axis.at(goods.amount())?.max(left), axis.at(sum.amount())?);
    let (top, high) = (y + row / 8, row * 3 / 4);
    let price = format!("{name}, price: {}", figures.amount(goods));
    sketch.segment(
        (left, top),
        (from - left, high),
        Thing::Goods.class(),
        &price,
    );
    if figures.hidden.is_some() || sum <= goods {
        return Ok(());
    }
    let each = charges(amounts, figures)?;
    let on_top = figures.amount(sum.minus(goods)?);
    let whole = format!("{name}, on top: {on_top}: {}", each.join(", "));
    sketch.segment(
        (from, top),
        ((end - from).max(12), high),
        Thing::Remedy.class(),
        &whole,
    );
    sketch.line((from, top), (from, top + high), "gap");
    let size = sketch.small();
    let room = right - end - sketch.letter / 2;
    let named = (1..=each.len().min(2))
        .rev()
        .map(|few| each[..few].join(", "));
    if let Some(text) = named.into_iter().find(|text| width_of(text, size) < room) {
        let base = y + row / 2 + size * 7 / 20;
        sketch.text_sized(
            (end + sketch.letter / 2, base),
            &text,
            "faint",
            Hang::Start,
            size,
        );
    }
    Ok(())
}

/// What the two tones are, over the drawing, with their sums.
fn legend(sketch: &mut Sketch, landed: &ShownLanded<'_>) -> Result<(), Overflow> {
    let size = sketch.letter;
    let (mut x, y) = (sketch.margin(), sketch.top + size / 2);
    let a = &landed.totals.amounts;
    for (thing, name) in [(Thing::Goods, "price"), (Thing::Remedy, "on top")] {
        if thing == Thing::Remedy && a.landed()? <= a.net_goods()? {
            continue;
        }
        sketch.rect(
            (x, y - size * 3 / 4),
            (size * 4 / 5, size * 4 / 5),
            thing.class(),
        );
        sketch.text((x + size * 11 / 10, y), name, "ink", Hang::Start);
        x += size * 2 + width_of(name, size);
    }
    sketch.top = y + size * 3 / 4;
    Ok(())
}
