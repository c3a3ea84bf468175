//! The working of a bill laid open: prices, discounts, rates and rules of each consignment, for whoever writes the sum down
//! again with live figures.

use std::rc::Rc;

use super::bill::Bill;
use super::billing::{Made, made};
use super::jurisdiction::{Jurisdiction, Prepared};
use super::parcel::{Consignment, ConsignmentState};
use super::payment::payer;
use super::price::{self, offer};
use super::reading::{Back, Reading};
use super::receipt::Ground;
use super::steps::steps_of;
use super::sums::Sum;
use super::total::{each, unless_refused};
use super::understood::understood;
use crate::book::{Book, ChargeWord, Discount, Freight, Part, Receipt};
use crate::rules::{
    Asking, Assessment, Carriage, Input, Law, Op, Origin, Parcel, Paying, SaleLine, SaleRows, Told,
    law, tell_asking, tell_paying,
};
use crate::tables::Quote;
use crate::text::{Diagnostic, Problems};
use crate::units::{Currency, Date, Dec, Grams, HomeMoney, Overflow, SellerMoney};

/// One line of a consignment.
#[derive(Debug, Clone)]
pub(crate) struct WorkLine<'a> {
    /// Its row.
    pub(crate) part: &'a Part,
    /// The price of one piece, in the seller's money.
    pub(crate) price: SellerMoney,
    /// What each piece of it adds to the packed mass, in grams.
    pub(crate) packed_each: Grams,
    /// What it adds once, however many pieces there are.
    pub(crate) packed_once: Grams,
    /// Whether its mass is the usual one of its place, since none is stated.
    pub(crate) guessed: bool,
    /// What one piece weighs; nothing where that is not known, as the rules have it.
    pub(crate) unit: Grams,
}

/// The working of one consignment.
pub(crate) struct Working<'a> {
    /// What it comes to.
    pub(crate) bill: Bill,
    /// Whether its charges are in the price.
    pub(crate) ddp: bool,
    /// Whether nobody here pays its price.
    pub(crate) gift: bool,
    /// The seller's money.
    pub(crate) paid_in: Currency,
    /// Its lines.
    pub(crate) lines: Vec<WorkLine<'a>>,
    /// The freight table that its freight was read from where the table's figures are not open here.
    pub(crate) schedule: Option<String>,
    /// What the seller asks.
    pub(crate) asking: (Told, Asking),
    /// What is paid to the seller.
    pub(crate) paying: (Told, Paying),
    /// The market rate it is paid at.
    pub(crate) market: Quote,
    /// The customs rate.
    pub(crate) customs: Option<Quote>,
    /// The rules as they ask it; none where it crosses no border.
    pub(crate) law: Option<Law>,
    /// The same rules and facts, and what is due by them; none where it crosses no border.
    pub(crate) ruled: Option<Ruled>,
    /// What was really charged, in the order of the book.
    pub(crate) receipts: Vec<Charged>,
    /// How they are understood.
    pub(crate) taken: Taken,
    /// What sending back cost, part by part.
    pub(crate) sent_back: Vec<HomeMoney>,
    /// What refunds take of each sum, part by part, with where each stands.
    pub(crate) refunds: Vec<(Sum, String, Vec<HomeMoney>)>,
}

impl Working<'_> {
    /// Whether the law asks what goods weigh without packing.
    pub(crate) fn asks_for_grams(&self) -> bool {
        let nodes = self.law.iter().flat_map(|law| law.told.form.nodes());
        nodes
            .into_iter()
            .any(|node| node.op == Op::Input(Input::Grams))
    }
}

/// A parcel at the border as the rules saw it, for whoever puts it before another reading of them.
pub(crate) struct Ruled {
    /// The rules of its day.
    pub(crate) prepared: Rc<Prepared>,
    /// The parcel.
    pub(crate) parcel: Parcel,
    /// What they say of it in decimals.
    pub(crate) assessment: Assessment,
}

/// How the receipts of a consignment are understood.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Taken {
    /// The word under which duty and anti-dumping were charged in one sum.
    pub(crate) one_sum: Option<ChargeWord>,
    /// Whether the card fee stands beside the seller's total.
    pub(crate) fee_apart: bool,
    /// Whether the discount is shared by price and not as calculated.
    pub(crate) discount_by_price: bool,
    /// Whether the seller's total, and the one at the door, is the sum of receipts, so that what has none was not charged; at the
    /// door also where the parcel is lost.
    pub(crate) summed: [bool; 2],
}

/// One receipt of a consignment.
#[derive(Debug, Clone)]
pub(crate) struct Charged {
    /// What for.
    pub(crate) word: ChargeWord,
    /// How much.
    pub(crate) amount: Dec,
    /// Of what money.
    pub(crate) currency: Currency,
    /// The market rate of its day.
    pub(crate) quote: Quote,
    /// Its day, else that of the order.
    pub(crate) day: Date,
    /// Where it stands.
    pub(crate) place: String,
}

fn receipts(
    reading: &Reading<'_>,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Charged>, Diagnostic> {
    let one = |receipt: &Receipt| {
        let day = receipt.date.unwrap_or(bill.ordered);
        let quote = Ground::of(bill, jurisdiction).quote(receipt)?;
        let place = receipt.at.place().to_string();
        Ok(Charged {
            word: receipt.charge,
            amount: receipt.amount,
            currency: receipt.currency,
            quote,
            day,
            place,
        })
    };
    reading.used.iter().map(|receipt| one(receipt)).collect()
}

fn refunds(reading: &Reading<'_>) -> Vec<(Sum, String, Vec<HomeMoney>)> {
    let one = |back: &Back<'_>| {
        let place = back.receipt.at.place().to_string();
        let told = |(sum, parts): &(Sum, Vec<HomeMoney>)| (*sum, place.clone(), parts.clone());
        let all = back.taken.iter().chain(&back.released);
        all.map(told).collect::<Vec<_>>()
    };
    reading.refunds.iter().flat_map(one).collect()
}

/// The working of every consignment of a book's build.
pub(crate) fn workings<'a>(
    book: &'a Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Vec<Working<'a>>, Problems> {
    let rows: Vec<&Part> = book.paid_for().collect();
    let mut problems = Problems::new();
    let one = |parcel: &Consignment<'a>| working(book, parcel, jurisdiction);
    let found = each(book, &rows, jurisdiction, &mut problems, one);
    unless_refused(problems, found)
}

fn working<'a>(
    book: &'a Book,
    consignment: &Consignment<'a>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Working<'a>, Diagnostic> {
    let Made {
        bill,
        priced,
        door,
        net,
    } = made(book, consignment, jurisdiction)?;
    let percents = match &door {
        Some(door) if net => door.prepared.program.sale_tax_rates(&door.parcel)?,
        _ => Vec::new(),
    };
    let reading = if net {
        price::Reading::Net(&percents)
    } else {
        price::Reading::Typed
    };
    let mut offer = offer(book, consignment, jurisdiction, reading)?;
    let steps = steps_of(consignment, &offer, jurisdiction)?;
    if let Some(steps) = &steps {
        offer.sale.carriage = Carriage::Steps(steps);
    }
    let by_steps = steps.is_some();
    let guessed = offer.guessed.clone();
    let lines = consignment.rows.iter().copied().zip(&offer.lines);
    let (charged, reading) = understood(&bill, book, jurisdiction)?;
    Ok(Working {
        ddp: consignment.pays_duty() && door.is_some(),
        gift: consignment.kind == ConsignmentState::Gift,
        paid_in: priced.currency,
        schedule: scheduled(consignment).filter(|_| !by_steps),
        asking: tell_asking(&offer.sale, terms(consignment, &offer.discounts))?,
        paying: tell_paying(
            offer.lines.len(),
            payer(consignment, &priced, jurisdiction),
            card(priced.currency, jurisdiction),
        )?,
        market: jurisdiction.market_rate(priced.currency, consignment.ordered)?,
        customs: door.as_ref().map(|door| door.customs.quote.clone()),
        law: door
            .as_ref()
            .map(|door| law(&door.prepared.program, &door.parcel))
            .transpose()?,
        receipts: receipts(&reading, &bill, jurisdiction)?,
        taken: taken(&reading),
        sent_back: charged.lines.iter().map(|line| line.sent_back).collect(),
        refunds: refunds(&reading),
        lines: lines
            .map(|(part, line)| work_line(part, line, &guessed))
            .collect::<Result<_, _>>()?,
        bill,
        ruled: door.map(|door| Ruled {
            prepared: door.prepared,
            parcel: door.parcel,
            assessment: door.assessment,
        }),
    })
}

/// One line. Its packed mass is so much for each piece and so much once: what lies in its box beside the pieces, and all of it
/// where it does not go by pieces.
fn work_line<'a>(
    part: &'a Part,
    line: &SaleLine,
    guessed: &[&str],
) -> Result<WorkLine<'a>, Overflow> {
    let each = part.packed.or(part.mass).unwrap_or(Grams::ZERO);
    let once = line.packed.minus(each.times(part.quantity)?)?;
    let (packed_each, packed_once) = if once < Grams::ZERO {
        (Grams::ZERO, line.packed)
    } else {
        (each, once)
    };
    Ok(WorkLine {
        // A part whose mass is not told bears nothing by its weight.
        unit: part.mass.unwrap_or(Grams::ZERO),
        price: line.price,
        packed_each,
        packed_once,
        guessed: guessed.contains(&part.name.as_str()) && packed_once != Grams::ZERO,
        part,
    })
}

/// The freight table that a consignment's freight is read from.
fn scheduled(consignment: &Consignment<'_>) -> Option<String> {
    match &consignment.freight {
        Freight::Schedule(name) => Some(name.clone()),
        Freight::Unknown | Freight::Amount(_) => None,
    }
}

/// How receipts were taken where they say it in more than one way.
fn taken(reading: &Reading<'_>) -> Taken {
    let lump = reading
        .used
        .iter()
        .any(|r| r.charge == ChargeWord::ToPayCarrier);
    let whole = |total: ChargeWord| {
        reading.is_summed(total) || (total == ChargeWord::ToPayCarrier && reading.lost && !lump)
    };
    Taken {
        one_sum: reading.one_sum,
        fee_apart: reading.fee_apart,
        discount_by_price: reading.discount_by_price,
        summed: [ChargeWord::ToPaySeller, ChargeWord::ToPayCarrier].map(whole),
    }
}

/// The rows of the seller's terms.
fn terms(consignment: &Consignment<'_>, discounts: &[&Discount]) -> SaleRows {
    let code = |discount: &&Discount| Origin {
        place: discount.at.place().to_string(),
        source: if discount.group.is_empty() {
            String::new()
        } else {
            format!("of the group `{}` only the best counts", discount.group)
        },
        id: discount.code.clone(),
    };
    SaleRows {
        seller: Origin {
            place: consignment.seller.map_or_else(
                || "no seller".to_owned(),
                |seller| seller.at.place().to_string(),
            ),
            source: freight_words(&consignment.freight),
            id: String::new(),
        },
        codes: discounts.iter().map(code).collect(),
    }
}

/// Where the card's fee stands.
fn card(paid_in: Currency, jurisdiction: &Jurisdiction<'_>) -> Origin {
    let own = paid_in == jurisdiction.currency();
    let words = "none on the destination's own money";
    Origin {
        place: "settings".to_owned(),
        source: if own { words.to_owned() } else { String::new() },
        id: String::new(),
    }
}

fn freight_words(freight: &Freight) -> String {
    match freight {
        Freight::Unknown => "not known".to_owned(),
        Freight::Amount(_) => "as told".to_owned(),
        Freight::Schedule(name) => format!(
            "by the schedule `{name}` at the packed mass as it was; type an amount for another mass"
        ),
    }
}
