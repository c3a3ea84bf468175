//! The trail: for each amount the rule, the table's row and the source behind it; for what is not due, the reason.

use super::border::BorderAssessment;
use super::jurisdiction::Jurisdiction;
use super::parcel::Consignment;
use super::payment::Payment;
use super::price::Priced;
use crate::book::{Discount, Freight, Included, Insurance, Receipt};
use crate::rules::{Entry, RateApplication, WhyNot};
use crate::tables::{Certainty, Evidence, Provenance, Quote, RowRef};
use crate::text::Location;
use crate::units::{Dec, HomeMoney, Money, Overflow, SellerMoney};

/// One step of the trail.
#[derive(Debug, Clone)]
pub struct Step {
    /// The rule's id, or a part of the price.
    pub id: String,
    /// Its kind: `duty`, `relief`, `price`, `payment`, …
    pub kind: &'static str,
    /// The table's row.
    pub row: Option<RowRef>,
    /// Rows of rates it took its percentage from.
    pub rate_rows: Vec<RowRef>,
    /// The text behind it.
    pub(crate) source: String,
    /// The texts behind those rows of rates, each once.
    pub(crate) rate_sources: Vec<String>,
    /// How its figure is known.
    pub(crate) evidence: Option<Evidence>,
    /// Whether it counts.
    pub(crate) certainty: Option<Certainty>,
    /// Both readings of its dispute and who decides, each once.
    pub(crate) disputes: Vec<String>,
    /// How it was calculated, or why it is not due.
    pub text: String,
    /// What it came to; none when it is not due.
    pub amount: Option<Dec>,
    /// Whether it found no rate for a part it works on.
    pub unrated: bool,
    /// Whether the layer it looked in owed that rate.
    pub owed: bool,
}

fn step(id: &str, kind: &'static str, text: String, amount: Option<Dec>) -> Step {
    let source = "the book's own rows".to_owned();
    Step {
        id: id.to_owned(),
        kind,
        row: None,
        rate_rows: Vec::new(),
        source,
        rate_sources: Vec::new(),
        evidence: None,
        certainty: None,
        disputes: Vec::new(),
        text,
        amount,
        unrated: false,
        owed: false,
    }
}

/// The trail of a consignment that crosses a border.
pub(super) fn of_consignment(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    payment: &Payment,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Step>, Overflow> {
    let mut trail = of_payment(consignment, priced, payment, jurisdiction)?;
    let what = if door.customs.stands_in {
        "customs conversion by the market rate, which stands in"
    } else {
        "customs conversion"
    };
    if priced.currency != jurisdiction.currency() {
        trail.push(exchange("customs_rate", what, &door.customs.quote));
    }
    trail.extend(to_the_border(consignment, priced, door, jurisdiction)?);
    trail.extend(
        door.assessment
            .entries
            .iter()
            .map(|entry| of_entry(entry, consignment, jurisdiction)),
    );
    Ok(trail)
}

/// A step by a row of the tables.
fn by_row(step: Step, stamp: &Provenance) -> Step {
    Step {
        row: Some(stamp.row.clone()),
        source: stamp.source.to_string(),
        evidence: Some(stamp.evidence),
        certainty: Some(stamp.certainty),
        disputes: disputes_of(std::iter::once(stamp)),
        ..step
    }
}

/// Where a row counts only part of the freight up to the border, that part and the row.
fn to_the_border(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<Step>, Overflow> {
    let Some(row) = jurisdiction.border_row(
        consignment.channel.name(),
        consignment.dispatch.code(),
        consignment.arrival,
    ) else {
        return Ok(None);
    };
    let freight = SellerMoney::total(priced.lines.iter().map(|line| line.freight))?;
    if row.rule.percent.0 == Dec::HUNDRED || freight.is_zero() {
        return Ok(None);
    }
    let amount = door
        .customs
        .quote
        .rate
        .to_home(freight)?
        .part(row.rule.percent)?
        .amount();
    let text = format!(
        "{} of the freight counts up to the border",
        row.rule.percent
    );
    let counted = step("freight.border", "value", text, Some(amount));
    Ok(Some(by_row(counted, &row.stamp)))
}

/// The trail of what the seller is paid.
pub(super) fn of_payment(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    payment: &Payment,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Step>, Overflow> {
    let total = |of: fn(&crate::rules::AskedLine) -> SellerMoney| {
        Ok::<Dec, Overflow>(SellerMoney::total(priced.lines.iter().map(of))?.amount())
    };
    let goods = step(
        "goods",
        "price",
        format!(
            "price times quantity, {}",
            tax_words(consignment, jurisdiction)
        ),
        Some(total(|l| l.list)?),
    );
    let mut trail = vec![in_book(
        goods,
        consignment.rows.iter().map(|row| row.at.line()),
    )];
    let taken =
        |(discount, taken): &(&Discount, SellerMoney)| of_discount(discount, *taken, priced);
    trail.extend(priced.used.iter().map(taken));
    trail.push(of_freight(
        consignment,
        priced,
        jurisdiction,
        total(|l| l.freight)?,
    ));
    if let Some(insurance) = consignment.insurance {
        let text = match insurance {
            Insurance::Amount(_) => "as told".to_owned(),
            Insurance::Share(percent) => format!("{percent} of goods and freight"),
        };
        let insured = step("insurance", "price", text, Some(total(|l| l.insurance)?));
        trail.push(in_book(
            insured,
            consignment
                .seller
                .map(|seller| seller.at.line())
                .into_iter(),
        ));
    }
    trail.extend(of_sum_paid(priced, payment, jurisdiction));
    Ok(trail)
}

/// An amount of the money that a seller asks, in words.
fn in_sellers_money(amount: SellerMoney, priced: &Priced<'_>) -> String {
    Money::new(amount.amount(), priced.currency).to_string()
}

/// What a discount takes off.
fn of_discount(discount: &Discount, taken: SellerMoney, priced: &Priced<'_>) -> Step {
    let text = format!("takes {} off", in_sellers_money(taken, priced));
    let off = Some(taken.negated().amount());
    in_book(
        step(&discount.code, "discount", text, off),
        std::iter::once(discount.at.line()),
    )
}

/// What the seller is paid in all: in foreign money with its exchange and what the card takes.
fn of_sum_paid(
    priced: &Priced<'_>,
    payment: &Payment,
    jurisdiction: &Jurisdiction<'_>,
) -> Vec<Step> {
    let (paid, abroad) = (&payment.paid, priced.currency != jurisdiction.currency());
    let sum = in_sellers_money(paid.sum, priced);
    let text = if abroad {
        format!("{sum} paid to the seller, converted once, rounded half up")
    } else {
        format!("{sum} paid to the seller")
    };
    let pays = step("payment", "payment", text, Some(paid.converted.amount()));
    if !abroad {
        return vec![pays];
    }
    let exchanged = exchange(
        "market_rate",
        "market rate of the day of ordering",
        &payment.quote,
    );
    let card = jurisdiction
        .ask
        .card_fee
        .map_or("no card fee is told".to_owned(), |fee| {
            format!("{fee} of the converted sum, rounded half up")
        });
    let card = step("card_fee", "payment", card, Some(paid.card_fee.amount()));
    vec![exchanged, pays, card]
}

/// A step with the rows it was made of.
fn in_book(step: Step, mut places: impl Iterator<Item = Location>) -> Step {
    Step {
        row: places.next().map(RowRef::of),
        rate_rows: places.map(RowRef::of).collect(),
        ..step
    }
}

/// The step of a schedule that the parcel's mass falls in, with its source; else what the seller's row says.
fn of_freight(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    jurisdiction: &Jurisdiction<'_>,
    amount: Dec,
) -> Step {
    let plain = step(
        "freight",
        "price",
        freight_words(consignment, priced),
        Some(amount),
    );
    let Freight::Schedule(name) = &consignment.freight else {
        return in_book(
            plain,
            consignment
                .seller
                .map(|seller| seller.at.line())
                .into_iter(),
        );
    };
    let rows = jurisdiction.schedule_rows(
        name,
        consignment.dispatch.code(),
        consignment.channel.name(),
        consignment.ordered,
    );
    let fits = rows
        .iter()
        .find(|row| {
            row.rule
                .up_to_g
                .is_none_or(|up_to| priced.packed.0 <= up_to)
        })
        .or(rows.last());
    let Some(used) = fits else { return plain };
    by_row(plain, &used.stamp)
}

/// The receipt behind an amount; no amount where it is left out.
pub(super) fn of_receipt(receipt: &Receipt, text: String, amount: Option<HomeMoney>) -> Step {
    let of = receipt.of.map(|of| format!(" of {}", of.name()));
    let id = format!("{}{}", receipt.charge.name(), of.unwrap_or_default());
    let step = step(&id, "receipt", text, amount.map(HomeMoney::amount));
    in_book(step, std::iter::once(receipt.at.line()))
}

fn tax_words(consignment: &Consignment<'_>, jurisdiction: &Jurisdiction<'_>) -> &'static str {
    match consignment.tax_to_take_out(jurisdiction) {
        Included::Nothing => "in the seller's money",
        Included::SaleTax => {
            "the destination's tax taken out where the seller takes it at the sale"
        }
        Included::Own(_) => "the seller's own tax taken off for export",
    }
}

fn freight_words(consignment: &Consignment<'_>, priced: &Priced<'_>) -> String {
    match &consignment.freight {
        Freight::Unknown => "not known: not in the total".to_owned(),
        Freight::Amount(_) => "as told, shared by packed mass".to_owned(),
        // a name of the user's begins with a small letter: this one stands for a hidden one
        Freight::Schedule(name) if name.starts_with(char::is_uppercase) => {
            format!(
                "the seller's schedule at {} g, shared by packed mass",
                priced.packed.0.fixed(0)
            )
        }
        Freight::Schedule(name) => format!(
            "schedule `{name}` at {} g, shared by packed mass",
            priced.packed.0.fixed(0)
        ),
    }
}

fn exchange(id: &str, what: &str, quote: &Quote) -> Step {
    let day = quote.day.map(|d| format!(", of {d}")).unwrap_or_default();
    // A rate of one for one has no source.
    let sources: Vec<&str> = quote.sources.iter().map(|s| &**s).collect();
    Step {
        row: quote.rows.first().cloned(),
        rate_rows: quote.rows.iter().skip(1).cloned().collect(),
        source: sources.first().copied().unwrap_or_default().to_owned(),
        ..step(
            id,
            "exchange",
            format!("{what}: {}{day}", quote.figures.join("; ")),
            None,
        )
    }
}

/// Both readings of the disputed rows among these, each once.
fn disputes_of<'a>(stamps: impl Iterator<Item = &'a Provenance>) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for said in stamps.filter_map(Provenance::dispute_said) {
        if !found.iter().any(|other| other == said) {
            found.push(said.to_owned());
        }
    }
    found
}

fn of_entry(entry: &Entry, consignment: &Consignment<'_>, jurisdiction: &Jurisdiction<'_>) -> Step {
    let Provenance { row, source, .. } = &entry.stamp;
    let stamps = || std::iter::once(&entry.stamp).chain(&entry.rate_rows);
    let weakest = (
        stamps().map(|s| s.evidence).max(),
        stamps().map(|s| s.certainty).max(),
    );
    let text = match (&entry.why_not, entry.kind) {
        (Some(why), _) => why_not(why, jurisdiction),
        (None, None) => format!("holds: {}", entry.of),
        (None, Some(_)) => how(entry, jurisdiction),
    };
    let unrated = entry
        .unrated
        .iter()
        .filter_map(|at| consignment.rows.get(*at))
        .map(|row| row.name.as_str());
    let unrated: Vec<&str> = unrated.collect();
    let text = if unrated.is_empty() || entry.why_not.is_some() {
        text
    } else {
        format!("{text}; no rate for {}", unrated.join(", "))
    };
    let mut rate_rows: Vec<RowRef> = entry.rate_rows.iter().map(|s| s.row.clone()).collect();
    rate_rows.sort();
    rate_rows.dedup();
    let mut rate_sources: Vec<String> = entry
        .rate_rows
        .iter()
        .map(|s| s.source.to_string())
        .filter(|text| !text.is_empty() && **text != **source)
        .collect();
    rate_sources.sort();
    rate_sources.dedup();
    Step {
        id: entry.id.clone(),
        kind: entry.kind.map_or("relief", crate::tables::Kind::name),
        row: Some(row.clone()),
        rate_rows,
        source: source.to_string(),
        rate_sources,
        evidence: weakest.0,
        certainty: weakest.1,
        disputes: disputes_of(stamps()),
        text,
        amount: entry.amount,
        unrated: !entry.unrated.is_empty(),
        owed: entry.owes && !entry.unrated.is_empty(),
    }
}

fn how(entry: &Entry, jurisdiction: &Jurisdiction<'_>) -> String {
    let digits = jurisdiction.currency().digits();
    let parts: Vec<String> = entry
        .parts
        .iter()
        .filter(|p| !p.base.is_zero() || !p.amount.is_zero())
        .map(|part| how_part(part, digits))
        .collect();
    let of = if entry.of.is_empty() {
        String::new()
    } else {
        format!("of {}: ", entry.of)
    };
    let none = if entry.amount.is_some_and(Dec::is_zero) {
        ", none of it due here"
    } else {
        ""
    };
    let flat = entry
        .flat
        .map(|flat| format!("flat {}{none}", flat.grouped(digits)));
    let all: Vec<String> = parts.into_iter().chain(flat).collect();
    let bound = |word: &str, bound: Option<Dec>| {
        bound
            .map(|bound| format!(", {word} {}", bound.grouped(digits)))
            .unwrap_or_default()
    };
    let bounds = bound("at least", entry.bounds.0) + &bound("at most", entry.bounds.1);
    if all.is_empty() {
        format!("{of}nothing to take it of")
    } else {
        format!("{of}{}{bounds}", all.join(" + "))
    }
}

fn how_part(part: &RateApplication, digits: u32) -> String {
    let base = part.base.grouped(digits.max(2));
    match &part.rate {
        None => base,
        Some(rate) => {
            let each = |amount: Dec, what: &str| {
                if amount.is_zero() {
                    String::new()
                } else {
                    format!(" + {amount} a {what}")
                }
            };
            format!(
                "{} of {base}{}{}",
                rate.percent,
                each(rate.per_kg, "kg"),
                each(rate.per_piece, "piece")
            )
        }
    }
}

fn why_not(why: &WhyNot, jurisdiction: &Jurisdiction<'_>) -> String {
    match why {
        WhyNot::Condition(when) => format!("not due: needs {when}"),
        WhyNot::Relieved(relief) => format!("not due: relieved by `{relief}`"),
        WhyNot::Group(other) => format!("not due: `{other}` counts instead"),
        WhyNot::NoRate => "not due: no rate for these goods and this origin".to_owned(),
        WhyNot::OwnFee => "not due: the carrier's own fee counts instead".to_owned(),
        WhyNot::OverLimit(value, limit) => format!(
            "does not hold: {} against {limit}",
            value.grouped(jurisdiction.currency().digits())
        ),
    }
}
