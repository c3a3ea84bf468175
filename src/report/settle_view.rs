//! `settle` as one screen and as JSON: each seller, what to claim or ask, and behind `--more` every charge with its causes, the
//! scales, the deadlines and the history.

use serde_json::{Value, json};

use super::cautions::{End, Warnings};
use super::show::Show;
use super::step_view::claim_json;
use super::view::{Cell, Grid, View};
use crate::book::{ChargeWord, Fault, MassKind};
use crate::landed::{Caution, Disputed};
use crate::settle::{
    Cause, Claimable, DOOR, Entry, Gap, Ledger, Reading, Record, Scales, Settled, Weighed,
};
use crate::steps::Claim;
use crate::tables::{Kind, Reason};
use crate::text::words::{count, few, list};
use crate::units::{Date, Dec, Mode, Overflow, ShownMoney};

/// Everything `settle` has to say.
#[derive(Debug)]
pub(crate) struct SettleReport<'a> {
    /// Receipts against the estimate.
    pub(crate) ledger: &'a Ledger,
    /// Weighings.
    pub(crate) scales: &'a Scales,
    /// The records by seller and by charge.
    pub(crate) history: (&'a [Record], &'a [Record]),
    /// What is to be asked for parts that did not come whole, in the money that is shown.
    pub(crate) faults: &'a [Claim],
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

/// The view of a settlement; `said` are cautions beside those of the report, and `home` shows the destination's money.
pub(crate) fn settle_view(
    report: &SettleReport<'_>,
    said: &[Caution],
    home: &Show,
) -> Result<View, Overflow> {
    let show = &home.as_it_is();
    let (mut view, mut more) = (View::default(), View::default());
    let parcels = &report.ledger.parcels;
    answer(report.ledger, show, &mut view)?;
    view.table(by_seller(parcels, show)?);
    if !report.ledger.waiting.is_empty() {
        view.say(format!(
            "No receipt yet for {}.",
            few(&report.ledger.waiting)
        ));
    }
    on_the_scales(report.scales, &mut view);
    if !parcels.is_empty() {
        more.table(charges(parcels, show)?);
        more.table(causes(parcels, show)?);
    }
    let deadlines = deadlines(report, show);
    if !deadlines.is_empty() {
        more.head("Claims, and until when");
        more.notes(deadlines);
    }
    scales(report.scales, &mut more);
    records(report.history, show, &mut more)?;
    view.more(more);
    let all: Vec<Caution> = cautions(report).into_iter().chain(said.to_vec()).collect();
    let mut warnings = Warnings::of(&all, home);
    to_claim(report, show, &mut warnings)?;
    let next = next(report.ledger);
    let end = End {
        next: &next,
        at_the_door: false,
    };
    warnings.conclude("Claim or ask", &end, show, &mut view);
    Ok(view)
}

/// What was charged beside what was estimated, and how much of the difference should be asked about.
fn answer(ledger: &Ledger, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let parcels = &ledger.parcels;
    if parcels.is_empty() {
        view.answer(if ledger.left_out.is_empty() {
            "No receipts yet. Add one: `landwaiter settle --add \"receipts,SELLER,CHARGE,AMOUNT,CURRENCY,DATE\"`.".to_owned()
        } else {
            format!(
                "No receipt is settled yet: what there is for {} is left out, and the reason is below.",
                list(&ledger.left_out, "and")
            )
        });
        return Ok(());
    }
    let [estimated, charged, unexplained] = sums(parcels)?;
    let difference = charged.minus(estimated)?;
    let beside = match difference {
        none if none.is_zero() => "the same".to_owned(),
        some => format!(
            "{} {}",
            show.amount(some.abs()),
            if some.is_negative() { "less" } else { "more" }
        ),
    };
    view.answer(format!(
        "Charged {} so far; {} was estimated: {beside}.",
        show.money(charged),
        show.amount(estimated)
    ));
    let mut asked: Vec<(Dec, String)> = Vec::new();
    for claim in claims(parcels).map(|(_, _, claim)| claim) {
        let text = reason(claim.reason);
        match asked.iter_mut().find(|(_, known)| *known == text) {
            Some((sum, _)) => *sum = sum.plus(claim.amount)?,
            None => asked.push((claim.amount, text)),
        }
    }
    asked.sort_by_key(|(amount, _)| std::cmp::Reverse(*amount));
    let query = match asked.as_slice() {
        [] => String::new(),
        some => {
            let sum = Dec::total(some.iter().map(|(amount, _)| *amount))?;
            let each: Vec<String> = some
                .iter()
                .map(|(amount, text)| format!("{} {text}", show.amount(*amount)))
                .collect();
            format!("Query {}: {}.", show.money(sum), list(&each, "and"))
        }
    };
    let rest = match unexplained {
        none if none.is_zero() && asked.is_empty() => {
            "All of the difference is explained.".to_owned()
        }
        none if none.is_zero() => String::new(),
        all if all == difference => "All of the difference is unexplained.".to_owned(),
        some => format!("{} is unexplained.", show.amount(some)),
    };
    let both = format!("{query} {rest}");
    let (both, is_same) = (both.trim(), difference.is_zero() && asked.is_empty());
    if !(both.is_empty() || is_same) {
        view.say(both);
    }
    Ok(())
}

/// Why something can be asked back, in words that follow its amount.
fn reason(reason: Reason) -> String {
    match reason {
        Reason::Twice => "charged twice".to_owned(),
        Reason::Overcharged => "more than the rules explain".to_owned(),
        other => other.name().replace('-', " "),
    }
}

/// All claims, each with its parcel and its charge.
fn claims(parcels: &[Settled]) -> impl Iterator<Item = (&Settled, &Entry, &Claimable)> {
    parcels.iter().flat_map(|parcel| {
        let entries = parcel.entries.iter();
        entries.filter_map(move |entry| Some((parcel, entry, entry.claim.as_ref()?)))
    })
}

/// The sellers with what was estimated and charged, the largest difference first, each with what made most of it.
fn by_seller(parcels: &[Settled], show: &Show) -> Result<Grid, Overflow> {
    let mut sellers: Vec<(&str, Vec<&Entry>)> = Vec::new();
    for parcel in parcels {
        let entries = parcel.entries.iter().filter(|entry| entry.actual.is_some());
        match sellers.iter_mut().find(|(name, _)| *name == parcel.seller) {
            Some((_, known)) => known.extend(entries),
            None => sellers.push((&parcel.seller, entries.collect())),
        }
    }
    let mut rows = Vec::new();
    for (name, entries) in &sellers {
        let estimated = Dec::total(entries.iter().map(|entry| entry.estimated))?;
        let charged = Dec::total(entries.iter().filter_map(|entry| entry.actual))?;
        let difference = charged.minus(estimated)?;
        let cells = vec![
            Cell::text(*name),
            Cell::number(show.amount(estimated)),
            Cell::number(show.amount(charged)),
            Cell::number(signed(difference, show)),
            main_reason(entries, show)?.map_or(Cell::Empty, Cell::text),
        ];
        rows.push((difference.abs(), cells));
    }
    rows.sort_by_key(|(difference, _)| std::cmp::Reverse(*difference));
    let [estimated, charged, _] = sums(parcels)?;
    let mut grid = Grid::new(
        "sellers",
        &[
            "Seller",
            "Estimated",
            "Charged",
            "Difference",
            "Main reason",
        ],
    );
    grid.rows = rows.into_iter().map(|(_, cells)| cells).collect();
    grid.foot = Some(vec![
        Cell::text("Total"),
        Cell::number(show.amount(estimated)),
        Cell::number(show.amount(charged)),
        Cell::number(signed(charged.minus(estimated)?, show)),
        Cell::Empty,
    ]);
    Ok(grid)
}

/// What made most of a seller's difference; the causes stand behind `--more`, each with its amount.
fn main_reason(entries: &[&Entry], show: &Show) -> Result<Option<String>, Overflow> {
    let mut found: Vec<(String, Dec)> = Vec::new();
    let mut add = |text: String, amount: Dec| -> Result<(), Overflow> {
        match found.iter_mut().find(|(known, _)| *known == text) {
            Some((_, sum)) => *sum = sum.plus(amount)?,
            None => found.push((text, amount)),
        }
        Ok(())
    };
    for entry in entries {
        for (cause, amount) in &entry.causes {
            let charge = || show.charge(entry.charge.name());
            let text = match cause {
                Cause::NotAsked => format!("{} not charged", charge()),
                Cause::NotForeseen => format!("{} not in the estimate", charge()),
                Cause::Twice => format!("{} charged twice", charge()),
                cause => cause.text(),
            };
            add(text, *amount)?;
        }
        add("unexplained".to_owned(), entry.unexplained)?;
    }
    let most = found.into_iter().max_by_key(|(_, amount)| amount.abs());
    Ok(most
        .filter(|(_, amount)| !amount.is_zero())
        .map(|(text, _)| text))
}

/// What the scales said, in two sentences; all readings stand behind `--more`.
fn on_the_scales(scales: &Scales, view: &mut View) {
    let mut said = Vec::new();
    if let Some(gap) = scales.bike.last() {
        let verdict = if gap.inside { "normal" } else { "unusual" };
        said.push(format!(
            "Weighed: bike {} g, parts {} g; the gap of {} g is {verdict}.",
            grams(gap.scale.0),
            grams(gap.sum.0),
            grams(gap.gap)
        ));
    }
    let unusual: Vec<String> = scales
        .parts
        .iter()
        .filter(|part| part.unusual)
        .filter_map(|part| {
            let (said, _) = part.claimed?;
            Some(format!("{} {} g for {}", part.part, part.mass, said))
        })
        .collect();
    if !unusual.is_empty() {
        said.push(format!("Unusually far from the claim: {}.", few(&unusual)));
    }
    if !said.is_empty() {
        view.say(said.join(" "));
    }
}

/// Grams without a decimal.
fn grams(amount: Dec) -> String {
    amount.round_to(0, Mode::HalfUp).grouped(0)
}

/// What to ask for, and of whom: claims, what nothing explains, what was not charged and may still be, and goods at fault.
fn to_claim(
    report: &SettleReport<'_>,
    show: &Show,
    warnings: &mut Warnings,
) -> Result<(), Overflow> {
    let ledger = report.ledger;
    for claim in report.faults {
        let text = at_fault(claim, report.day, show);
        warnings.before_all(claim.owed.map(ShownMoney::of), text, claim.fault.name());
    }
    for (parcel, entry, claim) in claims(&ledger.parcels) {
        let until = last_day(claim.until, report.day);
        let action = if claim.reason == Reason::Twice && claim.from != "seller" {
            "Send the carrier the invoice that shows the first".to_owned()
        } else if entry.charge == ChargeWord::ToPayCarrier {
            format!(
                "Ask the carrier how the sum splits, then claim from {}",
                claim.from
            )
        } else {
            format!("Claim it from {}", claim.from)
        };
        let text = format!(
            "{}, {}: {}. {action}; {until}.",
            parcel.id,
            show.charge(entry.charge.name()),
            reason(claim.reason)
        );
        warnings.costs(ShownMoney::of(claim.amount), text, "claim");
    }
    for parcel in &ledger.parcels {
        for entry in parcel
            .entries
            .iter()
            .filter(|entry| entry.claim.is_none() && entry.unexplained.is_positive())
        {
            let text = format!(
                "{}, {}: unexplained. Ask the {} how the sum came about.",
                parcel.id,
                show.charge(entry.charge.name()),
                if DOOR.contains(&entry.charge) {
                    "carrier"
                } else {
                    "seller"
                }
            );
            warnings.costs(ShownMoney::of(entry.unexplained), text, "unexplained");
        }
        not_charged(parcel, show, warnings)?;
    }
    if !ledger.rejects.is_empty() {
        let mut rejects: Vec<_> = ledger.rejects.iter().collect();
        rejects.sort_by_key(|(_, until, _)| *until);
        let each: Vec<String> = rejects
            .iter()
            .map(|(id, until, _)| match until {
                over if *over < report.day => format!("{id} until {until}, which is over"),
                _ => format!("{id} until {until}"),
            })
            .collect();
        let text = format!(
            "If goods are faulty, the charges at the door can be claimed back: {}. Send the goods back unused.",
            few(&each)
        );
        warnings.costs_nothing(text, "faulty");
    }
    Ok(())
}

/// The last day to claim, seen on another.
fn last_day(until: Option<Date>, day: Date) -> String {
    match until {
        Some(until) if until < day => format!("it was due by {until}"),
        Some(until) => format!("the last day is {until}"),
        None => "the rules name no last day".to_owned(),
    }
}

/// What to ask for a part that did not come whole, and of whom; how much stands beside it.
fn at_fault(claim: &Claim, day: Date, show: &Show) -> String {
    let part = &claim.part;
    let what = match claim.fault {
        Fault::Missing => "was not in its parcel",
        Fault::Damaged => "came damaged",
    };
    let seller = match claim.seller.as_str() {
        "" => "the seller",
        name => name,
    };
    if claim.owed.is_none() {
        return format!("{part} {what}. Ask {seller} for it.");
    }
    let more = if claim.possible.is_zero() {
        String::new()
    } else {
        format!(
            "; another {} of shipping and charges may come back",
            show.money(claim.possible)
        )
    };
    let until = last_day(claim.until, day);
    format!("{part} {what}. Claim it from {seller}{more}; {until}.")
}

/// What was due by the rules and was not charged, with the tax on it.
fn not_charged(parcel: &Settled, show: &Show, warnings: &mut Warnings) -> Result<(), Overflow> {
    let (mut sum, mut on_duty, mut of, mut disputed) =
        (Dec::ZERO, Dec::ZERO, Vec::new(), Vec::new());
    for entry in parcel
        .entries
        .iter()
        .filter(|entry| DOOR.contains(&entry.charge))
    {
        for (cause, amount) in &entry.causes {
            match cause {
                Cause::NotAsked if amount.is_negative() => {
                    of.push(show.charge(entry.charge.name()));
                    sum = sum.minus(*amount)?;
                    disputed.extend(disputed_of(parcel, entry.charge));
                }
                Cause::OnDuty if amount.is_negative() => on_duty = on_duty.minus(*amount)?,
                _ => {}
            }
        }
    }
    if of.is_empty() {
        return Ok(());
    }
    let with_tax = if on_duty.is_zero() {
        String::new()
    } else {
        format!(" with {} on it", show.tax())
    };
    let (verb, what) = if of.len() == 1 {
        ("was", "it")
    } else {
        ("were", "them")
    };
    let text = format!(
        "{}: {}{with_tax} {verb} due by the rules and not charged.{} Keep this money ready: customs may still ask for {what}.",
        parcel.id,
        list(&of, "and"),
        warnings.why(&disputed)
    );
    warnings.costs(ShownMoney::of(sum.plus(on_duty)?), text, "not-charged");
    Ok(())
}

/// The rows in dispute that a charge of a parcel comes from.
fn disputed_of(parcel: &Settled, charge: ChargeWord) -> impl Iterator<Item = Disputed> {
    let kind = match charge {
        ChargeWord::Duty => Some(Kind::Duty),
        ChargeWord::Remedy => Some(Kind::Remedy),
        ChargeWord::Tax | ChargeWord::TaxAtBorder => Some(Kind::Tax),
        ChargeWord::Handling => Some(Kind::Fee),
        _ => None,
    };
    let rows = parcel.disputed.iter();
    rows.filter(move |row| row.counted && kind.is_some() && row.kind == kind)
        .cloned()
}

/// What to do next: add the receipts that are missing.
fn next(ledger: &Ledger) -> String {
    let entries = ledger.parcels.iter().flat_map(|parcel| &parcel.entries);
    let missing = entries.filter(|entry| entry.actual.is_none()).count() + ledger.waiting.len();
    match missing {
        0 => "`landwaiter return --part NAME`, if a part is to go back.".to_owned(),
        some => format!("`landwaiter settle --add ROW` for what has no receipt yet ({some})."),
    }
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
            "estimated",
            "charged",
            "differs",
            "why",
        ],
    );
    grid.heading = Some("parcel");
    for parcel in parcels {
        grid.rows.push(vec![Cell::text(&parcel.id)]);
        for entry in &parcel.entries {
            let name = Cell::text(format!("  {}", show.charge(entry.charge.name())));
            let estimated = Cell::number(show.amount(entry.estimated));
            let Some(actual) = entry.actual else {
                grid.rows.push(vec![
                    name,
                    estimated,
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
                estimated,
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
        days if days < 0 => format!("until {until}, which is over"),
        days => format!("until {until}, {days} days left"),
    };
    let mut lines = Vec::new();
    for parcel in &report.ledger.parcels {
        for (entry, claim) in parcel
            .entries
            .iter()
            .filter_map(|e| Some((e, e.claim.as_ref()?)))
        {
            let until = claim.until.map_or("no deadline known".to_owned(), left);
            lines.push(format!(
                "{}, {}: {} {}, from {}; {until}; {}",
                parcel.id,
                show.charge(entry.charge.name()),
                show.money(claim.amount),
                reason(claim.reason),
                claim.from,
                claim.text
            ));
        }
    }
    for (id, until, _) in &report.ledger.rejects {
        lines.push(format!(
            "{id}: charges on faulty goods that go back, {}",
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
        lines.push(format!("Warranty, as entered: {}", warranties.join("; ")));
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
        &["weighed", "claimed", "how", "scale says", "differs", ""],
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
            "further off than usual"
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
    let verdict = if gap.inside { "inside" } else { "outside" };
    view.say(format!(
        "The bike weighs {} g ({}), its parts {} g: {} g apart. Claims usually come out {} g too light, within {} g: {verdict} that.",
        grams(gap.scale.0),
        gap.basis.name(),
        grams(gap.sum.0),
        grams(gap.gap),
        grams(gap.expected),
        grams(gap.tolerance)
    ));
    if !gap.unknown.is_empty() {
        view.say(format!(
            "No weight is known for {}.",
            list(&gap.unknown, "and")
        ));
    }
    let mut grid = Grid::new(
        "doubts",
        &[
            "not weighed",
            "counted, g",
            "within, g",
            "share of uncertainty",
        ],
    );
    for doubt in gap.doubts.iter().take(8) {
        let cells = [
            grams(doubt.mass.0),
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
    view.head("How close the estimates were");
    for (name, what, records) in [
        ("by_seller", "seller", sellers),
        ("by_charge", "charge", charges),
    ] {
        let mut grid = Grid::new(
            name,
            &[
                what,
                "charges",
                "estimated",
                "charged",
                "differs",
                "off by %",
            ],
        );
        for record in records {
            let percent = record
                .percent()?
                .map_or(Cell::text("none was estimated"), |p| {
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
        "claims": report.faults.iter().map(|claim| claim_json(claim, show)).collect::<Vec<_>>(),
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
