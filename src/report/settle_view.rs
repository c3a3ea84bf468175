//! `settle` as one screen and as JSON: parcels with their charges and causes, scales, deadlines, and the history.

use serde_json::{Value, json};

use super::cautions::caution_lines;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::book::MassKind;
use crate::landed::Caution;
use crate::settle::{Entry, Gap, Ledger, Reading, Record, Scales, Settled, Weighed};
use crate::text::words::{count, list};
use crate::units::{Date, Dec, Mode, Overflow};

/// Everything `settle` has to say.
#[derive(Debug)]
pub(crate) struct SettleReport<'a> {
    /// Receipts against the estimate.
    pub(crate) ledger: &'a Ledger,
    /// Weighings.
    pub(crate) scales: &'a Scales,
    /// The records by seller and by charge.
    pub(crate) history: (&'a [Record], &'a [Record]),
    /// The day it is looked at.
    pub(crate) day: Date,
}

fn signed(amount: Dec, show: &Show) -> String {
    let text = show.amount(amount);
    if amount.is_positive() {
        format!("+{text}")
    } else {
        text
    }
}

/// Calculated, charged, and what of the difference has no cause, over the charges that have a receipt.
fn sums(parcels: &[Settled]) -> Result<[Dec; 3], Overflow> {
    let entries = || {
        parcels
            .iter()
            .flat_map(|p| &p.entries)
            .filter(|e| e.actual.is_some())
    };
    Ok([
        Dec::total(entries().map(|e| e.estimated))?,
        Dec::total(entries().filter_map(|e| e.actual))?,
        Dec::total(entries().map(|e| e.unexplained))?,
    ])
}

/// The view of a settlement.
pub(crate) fn settle_view(report: &SettleReport<'_>, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    let parcels = &report.ledger.parcels;
    if parcels.is_empty() && !report.ledger.left_out.is_empty() {
        let them = list(&report.ledger.left_out, "and");
        view.say(format!("No receipt is settled yet: what there is for {them} is left out; why stands under \"To know\"."));
    } else if parcels.is_empty() {
        view.say("No receipts yet: add one with `landwaiter settle --add \"receipts,SELLER,CHARGE,AMOUNT,CURRENCY,DATE\"`.");
    } else {
        let [estimated, charged, unexplained] = sums(parcels)?;
        let difference = charged.minus(estimated)?;
        let over = by_cause(parcels)?
            .into_iter()
            .find(|(name, ..)| name == "overcharged")
            .map(|(.., amount)| amount);
        let rest = match (over, unexplained.is_zero()) {
            (None, true) => "all of it explained".to_owned(),
            (None, false) if unexplained == difference => "all of it unexplained".to_owned(),
            (Some(over), true) if over == difference => {
                "all of it more than the tables ask".to_owned()
            }
            (None, false) => format!("{} of it unexplained", show.amount(unexplained)),
            (Some(over), true) => format!("{} of it more than the tables ask", show.amount(over)),
            (Some(over), false) => {
                format!(
                    "{} of it unexplained and {} more than the tables ask",
                    show.amount(unexplained),
                    show.amount(over)
                )
            }
        };
        view.say(format!(
            "Charged {} so far where {} was reckoned: {}, {rest}.",
            show.money(charged),
            show.amount(estimated),
            signed(difference, show)
        ));
        view.table(charges(parcels, show)?);
        view.table(causes(parcels, show)?);
    }
    if !report.ledger.waiting.is_empty() {
        view.say(format!(
            "No receipt yet for {}.",
            list(&report.ledger.waiting, "and")
        ));
    }
    let deadlines = deadlines(report, show);
    if !deadlines.is_empty() {
        view.head("To ask for, and until when");
        view.notes(deadlines);
    }
    scales(report.scales, &mut view);
    records(report.history, show, &mut view)?;
    let cautions = caution_lines(&cautions(report));
    if !cautions.is_empty() {
        view.head("To know");
        view.notes(cautions);
    }
    Ok(view)
}

/// What must be said of the ledger and of the scales.
fn cautions(report: &SettleReport<'_>) -> Vec<Caution> {
    report
        .ledger
        .cautions
        .iter()
        .chain(&report.scales.cautions)
        .cloned()
        .collect()
}

/// What made a difference, and what is left of it.
fn why(entry: &Entry) -> Vec<(String, Dec)> {
    let rest =
        (!entry.unexplained.is_zero()).then(|| ("unexplained".to_owned(), entry.unexplained));
    entry
        .causes
        .iter()
        .map(|(cause, amount)| (cause.text(), *amount))
        .chain(rest)
        .collect()
}

fn charges(parcels: &[Settled], show: &Show) -> Result<Grid, Overflow> {
    let mut grid = Grid::new(
        "charges",
        &[
            "parcel and charge",
            "reckoned",
            "charged",
            "differs",
            "because of",
        ],
    );
    grid.heading = Some("parcel");
    for parcel in parcels {
        grid.rows.push(vec![Cell::text(&parcel.id)]);
        for entry in &parcel.entries {
            let name = Cell::text(format!("  {}", show.charge(entry.charge.name())));
            let reckoned = Cell::number(show.amount(entry.estimated));
            let Some(actual) = entry.actual else {
                grid.rows.push(vec![
                    name,
                    reckoned,
                    Cell::text("no receipt"),
                    Cell::Empty,
                    Cell::Empty,
                ]);
                continue;
            };
            let because = why(entry);
            let only = because
                .iter()
                .filter(|_| because.len() == 1)
                .map(|(text, _)| text.clone())
                .next();
            let differs = Cell::number(signed(entry.difference()?, show));
            grid.rows.push(vec![
                name,
                reckoned,
                Cell::number(show.amount(actual)),
                differs,
                only.map_or(Cell::Empty, Cell::text),
            ]);
            for (text, amount) in because.iter().filter(|_| because.len() > 1) {
                let of = Cell::text(format!("{} {text}", signed(*amount, show)));
                grid.rows.push(vec![
                    Cell::text(""),
                    Cell::Empty,
                    Cell::Empty,
                    Cell::Empty,
                    of,
                ]);
            }
        }
    }
    Ok(grid)
}

/// The causes together, the largest first.
fn by_cause(parcels: &[Settled]) -> Result<Vec<(String, String, Dec)>, Overflow> {
    let mut found: Vec<(String, String, Dec)> = Vec::new();
    let mut add = |name: &str, text: String, amount: Dec| -> Result<(), Overflow> {
        match found.iter_mut().find(|(known, ..)| known == name) {
            Some((_, _, sum)) => *sum = sum.plus(amount)?,
            None => found.push((name.to_owned(), text, amount)),
        }
        Ok(())
    };
    for entry in parcels.iter().flat_map(|p| &p.entries) {
        for (cause, amount) in &entry.causes {
            add(cause.name(), cause.text(), *amount)?;
        }
        if !entry.unexplained.is_zero() {
            add("unexplained", "unexplained".to_owned(), entry.unexplained)?;
        }
    }
    found.sort_by(|a, b| b.2.abs().cmp(&a.2.abs()).then_with(|| a.0.cmp(&b.0)));
    Ok(found)
}

fn causes(parcels: &[Settled], show: &Show) -> Result<Grid, Overflow> {
    let mut grid = Grid::new("causes", &["cause", "together"]);
    let found = by_cause(parcels)?;
    let total = Dec::total(found.iter().map(|(.., amount)| *amount))?;
    grid.rows = found
        .into_iter()
        .map(|(_, text, amount)| vec![Cell::text(text), Cell::number(signed(amount, show))])
        .collect();
    grid.foot = Some(vec![
        Cell::text("all differences"),
        Cell::number(signed(total, show)),
    ]);
    Ok(grid)
}

fn deadlines(report: &SettleReport<'_>, show: &Show) -> Vec<String> {
    let left = |until: Date| match until.days_since(report.day) {
        days if days < 0 => format!("until {until}: too late"),
        days => format!("until {until}, {days} days left"),
    };
    let mut lines = Vec::new();
    for parcel in &report.ledger.parcels {
        for (entry, claim) in parcel
            .entries
            .iter()
            .filter_map(|e| Some((e, e.claim.as_ref()?)))
        {
            let until = claim.until.map_or("no day in the tables".to_owned(), left);
            lines.push(format!(
                "{}, {}: {} {}, from {}; {until}; {} ({})",
                parcel.id,
                show.charge(entry.charge.name()),
                show.money(claim.amount),
                claim.reason.name().replace('-', " "),
                claim.from,
                claim.text,
                claim.row
            ));
        }
    }
    for (id, until, row) in &report.ledger.rejects {
        lines.push(format!(
            "{id}: charges on goods at fault, sent back, {} ({row})",
            left(*until)
        ));
    }
    let warranties: Vec<String> = report
        .ledger
        .warranties
        .iter()
        .map(|(part, until)| format!("{part} {}", left(*until)))
        .collect();
    if !warranties.is_empty() {
        lines.push(format!("Warranty, as told: {}", warranties.join("; ")));
    }
    lines
}

fn kind(kind: MassKind) -> &'static str {
    match kind {
        MassKind::Weighed => "weighed before",
        MassKind::Claimed => "claimed",
        MassKind::Guess => "guessed",
    }
}

fn scales(scales: &Scales, view: &mut View) {
    let mut grid = Grid::new(
        "weighings",
        &["weighed", "said before", "how", "scale says", "differs", ""],
    );
    for part in &scales.parts {
        let (said, how) = part.claimed.map_or((Cell::Empty, ""), |(mass, known)| {
            (Cell::number(mass.to_string()), kind(known))
        });
        let differs = part.percent.map_or(Cell::Empty, |p| {
            Cell::number(format!(
                "{}{} %",
                if p.is_positive() { "+" } else { "" },
                p.round_to(1, Mode::HalfUp).fixed(1)
            ))
        });
        let mark = if part.unusual {
            "more than claims usually miss by"
        } else {
            ""
        };
        let name = if part.quantity > 1 {
            format!("{} (each)", part.part)
        } else {
            part.part.clone()
        };
        grid.rows.push(vec![
            Cell::text(name),
            said,
            Cell::text(how),
            Cell::number(part.mass.to_string()),
            differs,
            Cell::text(mark),
        ]);
    }
    view.table(grid);
    scales
        .parts
        .iter()
        .filter(|part| part.readings.len() > 1)
        .for_each(|part| view.say(read_so(part)));
    scales.bike.iter().for_each(|gap| bike(gap, view));
}

/// All readings of a part, and which of them count: `Chain: 244 g (2026-10-18) counts, 260 g (2026-10-04) does not.`
fn read_so(part: &Weighed) -> String {
    let one = |reading: &Reading| {
        let what = [
            Some(reading.piece.clone()).filter(|piece| !piece.is_empty()),
            reading.pieces.map(|pieces| {
                count(
                    usize::try_from(pieces).unwrap_or(usize::MAX),
                    "piece",
                    "pieces",
                )
            }),
            reading.date.map(|day| day.to_string()),
        ];
        let what: Vec<String> = what.into_iter().flatten().collect();
        if what.is_empty() {
            format!("{} g", reading.mass)
        } else {
            format!("{} g ({})", reading.mass, what.join(", "))
        }
    };
    let of = |counts: bool| {
        part.readings
            .iter()
            .filter(|r| r.counts == counts)
            .map(one)
            .collect::<Vec<_>>()
    };
    let (now, before) = (of(true), of(false));
    let counts = if now.len() == 1 { "counts" } else { "count" };
    let not = if before.is_empty() {
        String::new()
    } else {
        format!(
            "; {} came before and no longer counts",
            list(&before, "and")
        )
    };
    format!(
        "{}: {} {counts}{}.",
        part.part,
        list(&now, "and"),
        if before.len() > 1 {
            not.replace("counts", "count")
        } else {
            not
        }
    )
}

fn bike(gap: &Gap, view: &mut View) {
    let g = |d: Dec| d.round_to(0, Mode::HalfUp).grouped(0);
    let verdict = if gap.inside { "inside" } else { "outside" };
    view.say(format!(
        "The bike weighs {} g ({}), its parts {} g: a gap of {} g. Claims usually lean by {} g, give or take {} g: {verdict} that.",
        g(gap.scale.0),
        gap.basis.name(),
        g(gap.sum.0),
        g(gap.gap),
        g(gap.expected),
        g(gap.tolerance)
    ));
    if !gap.unknown.is_empty() {
        view.say(format!(
            "No mass is known for {}.",
            list(&gap.unknown, "and")
        ));
    }
    let mut grid = Grid::new(
        "doubts",
        &[
            "not weighed",
            "in the sum, g",
            "give or take, g",
            "of the doubt",
        ],
    );
    for doubt in gap.doubts.iter().take(8) {
        let cells = [
            g(doubt.mass.0),
            doubt.deviation.round_to(1, Mode::HalfUp).fixed(1),
            format!("{} %", doubt.share.fixed(0)),
        ]
        .map(Cell::number);
        grid.rows.push(
            std::iter::once(Cell::text(&doubt.part))
                .chain(cells)
                .collect(),
        );
    }
    view.table(grid);
}

fn records(
    (sellers, charges): (&[Record], &[Record]),
    show: &Show,
    view: &mut View,
) -> Result<(), Overflow> {
    if sellers.is_empty() {
        return Ok(());
    }
    view.head("How good the estimates were so far");
    for (name, what, records) in [
        ("by_seller", "seller", sellers),
        ("by_charge", "charge", charges),
    ] {
        let mut grid = Grid::new(
            name,
            &[
                what,
                "charges",
                "reckoned",
                "charged",
                "differs",
                "in the hundred",
            ],
        );
        for record in records {
            let percent = record
                .percent()?
                .map_or(Cell::text("none was reckoned"), |p| {
                    Cell::number(format!("{} %", p.fixed(1)))
                });
            let differs = signed(record.actual.minus(record.estimated)?, show);
            let title = if what == "charge" {
                show.charge(&record.name)
            } else {
                record.name.clone()
            };
            let cells = [
                record.charges.to_string(),
                show.amount(record.estimated),
                show.amount(record.actual),
                differs,
            ]
            .map(Cell::number);
            grid.rows.push(
                std::iter::once(Cell::text(title))
                    .chain(cells)
                    .chain([percent])
                    .collect(),
            );
        }
        view.table(grid);
    }
    Ok(())
}

fn entry_json(entry: &Entry, show: &Show) -> Result<Value, Overflow> {
    let causes =
        entry.causes.iter().map(|(cause, amount)| json!({"cause": cause.name(), "text": cause.text(), "amount": show.exact(*amount)}));
    let claim = entry.claim.as_ref().map(|c| {
        json!({"reason": c.reason.name(), "amount": show.exact(c.amount), "from": c.from, "until": c.until.map(|d| d.to_string()), "row": c.row, "text": c.text})
    });
    Ok(json!({
        "charge": entry.charge.name(),
        "estimated": show.exact(entry.estimated),
        "charged": entry.actual.map(|a| show.exact(a)),
        "difference": show.exact(entry.difference()?),
        "causes": causes.collect::<Vec<_>>(),
        "unexplained": show.exact(entry.unexplained),
        "claim": claim,
    }))
}

/// The settlement as JSON.
pub(crate) fn settle_json(
    report: &SettleReport<'_>,
    show: &Show,
    destination: &str,
    tables: Value,
) -> Result<Value, Overflow> {
    let parcels = report.ledger.parcels.iter().map(|p| {
        Ok(json!({
            "id": p.id,
            "seller": p.seller,
            "arrival": p.arrival.to_string(),
            "charges": p.entries.iter().map(|e| entry_json(e, show)).collect::<Result<Vec<_>, Overflow>>()?,
        }))
    });
    let [estimated, charged, unexplained] = sums(&report.ledger.parcels)?;
    let causes = by_cause(&report.ledger.parcels)?
        .into_iter()
        .map(|(name, _, amount)| json!({"cause": name, "amount": show.exact(amount)}));
    let record = |r: &Record| {
        Ok(
            json!({"name": r.name, "charges": r.charges, "estimated": show.exact(r.estimated), "charged": show.exact(r.actual), "off": show.exact(r.off), "percent": r.percent()?.map(|p| p.fixed(1))}),
        )
    };
    let records = |all: &[Record]| {
        all.iter()
            .map(record)
            .collect::<Result<Vec<Value>, Overflow>>()
    };
    let parts = report.scales.parts.iter().map(|w| {
        json!({"part": w.part, "claimed_g": w.claimed.map(|(m, _)| m.to_string()), "mass_g": w.mass.to_string(), "quantity": w.quantity, "percent": w.percent.map(|p| p.fixed(1)), "unusual": w.unusual,
            "readings": w.readings.iter().map(|r| json!({"date": r.date.map(|d| d.to_string()), "mass_g": r.mass.to_string(), "pieces": r.pieces, "piece": r.piece, "counts": r.counts})).collect::<Vec<_>>()})
    });
    let bike = report.scales.bike.iter().map(|gap| {
        let doubts = gap
            .doubts
            .iter()
            .map(|d| json!({"part": d.part, "mass_g": d.mass.to_string(), "deviation_g": d.deviation.fixed(1), "share": d.share.fixed(1)}));
        json!({
            "basis": gap.basis.name(), "scale_g": gap.scale.to_string(), "sum_g": gap.sum.to_string(), "gap_g": gap.gap.to_string(),
            "expected_g": gap.expected.to_string(), "tolerance_g": gap.tolerance.to_string(), "inside": gap.inside,
            "unknown": gap.unknown, "doubts": doubts.collect::<Vec<_>>(),
        })
    });
    Ok(json!({
        "format": "landwaiter.settle/1",
        "destination": destination,
        "currency": show.currency.to_string(),
        "date": report.day.to_string(),
        "tables": tables,
        "consignments": parcels.collect::<Result<Vec<Value>, Overflow>>()?,
        "waiting": report.ledger.waiting,
        "left_out": report.ledger.left_out,
        "warranties": report.ledger.warranties.iter().map(|(part, until)| json!({"part": part, "until": until.to_string()})).collect::<Vec<_>>(),
        "rejects": report.ledger.rejects.iter().map(|(id, until, row)| json!({"consignment": id, "until": until.to_string(), "row": row})).collect::<Vec<_>>(),
        "totals": {"estimated": show.exact(estimated), "charged": show.exact(charged), "difference": show.exact(charged.minus(estimated)?), "unexplained": show.exact(unexplained)},
        "causes": causes.collect::<Vec<_>>(),
        "weighings": parts.collect::<Vec<_>>(),
        "bike": bike.collect::<Vec<_>>(),
        "history": {"sellers": records(report.history.0)?, "charges": records(report.history.1)?},
        "cautions": super::cautions::cautions(&cautions(report)),
    }))
}
