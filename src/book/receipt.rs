//! `receipts.csv`: what was really charged, by parcel and charge, and every name by which a charge may be called there.

use super::read::{amount, currency, sheet, unknown};
use super::{Book, BookFile, Part};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Diagnostic, Problems, Spot};
use crate::units::{Currency, Date, Dec, Money};

/// What a receipt is for; the words of the outputs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[expect(missing_docs, reason = "named as in the outputs")]
pub enum ChargeWord {
    Goods,
    Discount,
    Freight,
    Insurance,
    Duty,
    Remedy,
    Tax,
    TaxAtSale,
    TaxAtBorder,
    Handling,
    CardFee,
    /// What carrying goods back to the seller cost.
    ReturnFreight,
    Refund,
    /// Everything the seller took, as one sum.
    ToPaySeller,
    /// Everything asked for at the door, as one sum.
    ToPayCarrier,
}

/// The charges by their words.
pub(crate) const CHARGE_WORDS: [(&str, ChargeWord); 15] = [
    ("goods", ChargeWord::Goods),
    ("discount", ChargeWord::Discount),
    ("freight", ChargeWord::Freight),
    ("insurance", ChargeWord::Insurance),
    ("duty", ChargeWord::Duty),
    ("remedy", ChargeWord::Remedy),
    ("tax", ChargeWord::Tax),
    ("tax_at_sale", ChargeWord::TaxAtSale),
    ("tax_at_border", ChargeWord::TaxAtBorder),
    ("handling", ChargeWord::Handling),
    ("card_fee", ChargeWord::CardFee),
    ("return_freight", ChargeWord::ReturnFreight),
    ("refund", ChargeWord::Refund),
    ("to_pay_seller", ChargeWord::ToPaySeller),
    ("to_pay_carrier", ChargeWord::ToPayCarrier),
];

/// What screens, invoices and carriers call the charges, beside the words of the outputs. Capitals, `_`, `-` and apostrophes make
/// no difference; taxes have a list of their own.
pub(crate) const CHARGE_NAMES: [(&str, ChargeWord); 41] = [
    ("price", ChargeWord::Goods),
    ("price tag", ChargeWord::Goods),
    ("code", ChargeWord::Discount),
    ("shipping", ChargeWord::Freight),
    ("postage", ChargeWord::Freight),
    ("carriage", ChargeWord::Freight),
    ("delivery", ChargeWord::Freight),
    ("return shipping", ChargeWord::ReturnFreight),
    ("return postage", ChargeWord::ReturnFreight),
    ("return carriage", ChargeWord::ReturnFreight),
    ("freight back", ChargeWord::ReturnFreight),
    ("shipping back", ChargeWord::ReturnFreight),
    ("postage back", ChargeWord::ReturnFreight),
    ("import duty", ChargeWord::Duty),
    ("customs duty", ChargeWord::Duty),
    ("duties", ChargeWord::Duty),
    ("anti dumping", ChargeWord::Remedy),
    ("anti dumping duty", ChargeWord::Remedy),
    ("antidumping", ChargeWord::Remedy),
    ("antidumping duty", ChargeWord::Remedy),
    ("import vat", ChargeWord::TaxAtBorder),
    ("import gst", ChargeWord::TaxAtBorder),
    ("import tax", ChargeWord::TaxAtBorder),
    ("handling fee", ChargeWord::Handling),
    ("carriers fee", ChargeWord::Handling),
    ("carrier fee", ChargeWord::Handling),
    ("clearance fee", ChargeWord::Handling),
    ("disbursement fee", ChargeWord::Handling),
    ("cards fee", ChargeWord::CardFee),
    ("money back", ChargeWord::Refund),
    ("cash back", ChargeWord::Refund),
    ("cashback", ChargeWord::Refund),
    ("paid to the seller", ChargeWord::ToPaySeller),
    ("paid to seller", ChargeWord::ToPaySeller),
    ("sellers total", ChargeWord::ToPaySeller),
    ("with the order", ChargeWord::ToPaySeller),
    ("with the orders", ChargeWord::ToPaySeller),
    ("paid at the door", ChargeWord::ToPayCarrier),
    ("at the door", ChargeWord::ToPayCarrier),
    ("charges at the door", ChargeWord::ToPayCarrier),
    ("paid to the carrier", ChargeWord::ToPayCarrier),
];

/// What taxes on goods are called; `at the sale` or `at the door` may follow.
const TAXES: [&str; 5] = ["tax", "vat", "gst", "sales tax", "consumption tax"];
const AT_SALE: [&str; 4] = ["at sale", "at the sale", "at checkout", "at the checkout"];
const AT_DOOR: [&str; 4] = ["at border", "at the border", "at door", "at the door"];

impl ChargeWord {
    /// Its word.
    pub(crate) fn name(self) -> &'static str {
        words::word_of(&CHARGE_WORDS, self)
    }

    /// The charge of a name: its word, or what a screen or an invoice calls it.
    pub(crate) fn parse(text: &str) -> Result<ChargeWord, String> {
        let typed = plain(text);
        let own = CHARGE_WORDS.iter().find(|(word, _)| plain(word) == typed);
        let named = own
            .or_else(|| CHARGE_NAMES.iter().find(|(name, _)| *name == typed))
            .map(|(_, charge)| *charge);
        named
            .or_else(|| tax(&typed))
            .map_or_else(|| one_of(&CHARGE_WORDS, text), Ok)
    }
}

/// A name without capitals, apostrophes, `_` and `-`.
fn plain(text: &str) -> String {
    let letters = text
        .chars()
        .filter(|c| !matches!(c, '\'' | '\u{2019}'))
        .map(|c| if matches!(c, '_' | '-') { ' ' } else { c });
    let words = letters.collect::<String>().to_lowercase();
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn tax(typed: &str) -> Option<ChargeWord> {
    TAXES
        .iter()
        .find_map(|name| match typed.strip_prefix(name)?.trim_start() {
            "" => Some(ChargeWord::Tax),
            place if AT_SALE.contains(&place) => Some(ChargeWord::TaxAtSale),
            place if AT_DOOR.contains(&place) => Some(ChargeWord::TaxAtBorder),
            _ => None,
        })
}

/// What a receipt is for; where it is a refund of a charge, that charge beside it: `refund of VAT`, `refund:duty`, `duty refund`.
fn charge_of(text: &str) -> Result<(ChargeWord, Option<ChargeWord>), String> {
    let typed = plain(text);
    let split = typed
        .strip_prefix("refund")
        .map(|rest| rest.trim_start().trim_start_matches(':').trim_start());
    let of = split
        .map(|rest| rest.strip_prefix("of ").unwrap_or(rest))
        .or(typed.strip_suffix(" refund"))
        .filter(|of| !of.is_empty());
    let Some(of) = of else {
        return ChargeWord::parse(text).map(|charge| (charge, None));
    };
    match ChargeWord::parse(of)? {
        ChargeWord::Discount | ChargeWord::Refund => {
            Err("expected what came back, as in `refund of VAT`".to_owned())
        }
        ChargeWord::ToPaySeller => Ok((ChargeWord::Refund, None)),
        charge => Ok((ChargeWord::Refund, Some(charge))),
    }
}

/// One receipt.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// `SELLER` or `SELLER/PARCEL`.
    pub(crate) consignment: String,
    /// What it is for.
    pub charge: ChargeWord,
    /// Where it is a refund of a charge: that charge.
    pub of: Option<ChargeWord>,
    /// Where it is a refund of one part, or one part went back: that part.
    pub part: Option<String>,
    /// How much; a discount and a refund are given without a sign.
    pub(crate) amount: Dec,
    /// Of what money.
    pub(crate) currency: Currency,
    /// When it was charged.
    pub(crate) date: Option<Date>,
    /// Whether an earlier row says the very same, so that one charge may have been typed twice.
    pub(crate) again: bool,
    /// Where it stands.
    pub(crate) at: Spot,
}

impl Receipt {
    /// How much of what money.
    pub(crate) fn money(&self) -> Money {
        Money::new(self.amount, self.currency)
    }

    /// Whether another row cannot be told apart from this one: not by its day, and not by its note.
    fn is_alike(&self, other: &Receipt) -> bool {
        let told = |r: &Receipt| (r.charge, r.of, r.amount, r.currency, r.date);
        let note = |r: &Receipt| r.at.cell("note").text().to_owned();
        let named = |r: &Receipt| (r.consignment.clone(), r.part.clone(), note(r));
        told(self) == told(other) && named(self) == named(other)
    }
}

/// Receipts of a later day than one that is looked at.
pub(crate) fn dated_after(receipts: &[Receipt], day: Date) -> impl Iterator<Item = &Receipt> {
    receipts
        .iter()
        .filter(move |receipt| receipt.date.is_some_and(|own| own > day))
}

pub(super) const COLUMNS: Columns = Columns {
    needed: &["consignment", "charge", "amount"],
    optional: &["currency", "date", "part"],
    shared: &[],
};

/// Reads `receipts.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Receipt> {
    let ids = book.consignment_ids();
    let spots: Vec<Spot> = Spot::rows(&sheet(file, &COLUMNS, problems)).collect();
    let mut found: Vec<Receipt> = Vec::new();
    for at in &spots {
        let Some(mut receipt) = one(at, &ids, book, problems) else {
            continue;
        };
        if let Some(first) = found
            .iter()
            .find(|other| !receipt.amount.is_zero() && other.is_alike(&receipt))
        {
            let what = format!(
                "is this the charge of {} typed twice? both are counted, and nothing is claimed for it",
                first.at.place()
            );
            let help = "take one row out; if both were charged, give each its own day, or say so in `note`";
            problems.push(at.cell("amount").error(what).help(help).as_warning());
            receipt.again = true;
        }
        found.push(receipt);
    }
    found
}

fn one(at: &Spot, ids: &[String], book: &Book, problems: &mut Problems) -> Option<Receipt> {
    let id = at.cell("consignment");
    let at_home = id.text().starts_with("at home");
    if !at_home && !ids.iter().any(|known| known == id.text()) {
        // where rows were lost, what they named would seem to be nowhere
        if !book.lost_rows {
            problems.push(unknown(
                &id,
                "expected a parcel of the book: a seller, or SELLER/PARCEL",
                ids.iter().map(String::as_str),
            ));
        }
        return None;
    }
    let charge = at.cell("charge").needed(problems, charge_of);
    let stated = at.cell("currency").optional(problems, currency);
    let paid = at.cell("amount");
    if paid.is_empty() {
        problems.push(paid.error("expected an amount"));
        return None;
    }
    let (value, money) = amount(&paid, stated, problems)?;
    let Some(currency) = money else {
        // one that cannot be read has been said
        if at.cell("currency").is_empty() {
            problems.push(
                at.cell("currency")
                    .error("expected the currency of the receipt"),
            );
        }
        return None;
    };
    let date = at.cell("date").optional(problems, Date::parse);
    let (charge, of) = charge?;
    let part = problems.keep(part_of(at, charge, of, book))?;
    let consignment = id.text().to_owned();
    Some(Receipt {
        consignment,
        charge,
        of,
        part,
        amount: value,
        currency,
        date,
        again: false,
        at: at.clone(),
    })
}

/// The part that a refund is for, or that went back, which must travel in that parcel.
fn part_of(
    at: &Spot,
    charge: ChargeWord,
    of: Option<ChargeWord>,
    book: &Book,
) -> Result<Option<String>, Diagnostic> {
    let cell = at.cell("part");
    if cell.is_empty() {
        return Ok(None);
    }
    let of_one =
        charge == ChargeWord::ReturnFreight || (charge == ChargeWord::Refund && of.is_none());
    if !of_one {
        let what = "expected no part: only a refund of goods and the freight back are for one part, other charges are shared over the parcel";
        return Err(cell.error(what));
    }
    let id = at.cell("consignment");
    let travels = |part: &&Part| part.is_in(id.text());
    let names: Vec<&str> = book
        .parts
        .iter()
        .filter(travels)
        .map(|part| part.name.as_str())
        .collect();
    if names.contains(&cell.text()) {
        return Ok(Some(cell.text().to_owned()));
    }
    Err(unknown(&cell, "expected a part of this parcel", names))
}
