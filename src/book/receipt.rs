//! `receipts.csv`: what was really charged, by parcel and charge.

use super::read::{amount, currency, sheet};
use super::{Book, BookFile};
use crate::text::words::{self, one_of};
use crate::text::{Columns, Problems, Spot};
use crate::units::{Currency, Date, Dec};

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
    Refund,
    /// Everything the seller took, as one sum.
    ToPaySeller,
    /// Everything asked for at the door, as one sum.
    ToPayCarrier,
}

/// The charges by their words.
pub const CHARGE_WORDS: [(&str, ChargeWord); 14] = [
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
    ("refund", ChargeWord::Refund),
    ("to_pay_seller", ChargeWord::ToPaySeller),
    ("to_pay_carrier", ChargeWord::ToPayCarrier),
];

impl ChargeWord {
    /// Its word.
    pub fn name(self) -> &'static str {
        words::word_of(&CHARGE_WORDS, self)
    }
}

/// One receipt.
#[derive(Debug, Clone)]
pub struct Receipt {
    /// `SELLER` or `SELLER/PARCEL`.
    pub consignment: String,
    /// What it is for.
    pub charge: ChargeWord,
    /// How much; a discount and a refund are given without a sign.
    pub amount: Dec,
    /// Of what money.
    pub currency: Currency,
    /// When it was charged.
    pub date: Option<Date>,
    /// Where it stands.
    pub at: Spot,
}

pub(super) const COLUMNS: Columns = Columns { needed: &["consignment", "charge", "amount"], optional: &["currency", "date"], shared: &[] };

/// Reads `receipts.csv`.
pub(super) fn read(file: &BookFile, book: &Book, problems: &mut Problems) -> Vec<Receipt> {
    let ids = book.consignment_ids();
    let spots: Vec<Spot> = Spot::rows(&sheet(file, &COLUMNS, problems)).collect();
    spots.iter().filter_map(|at| one(at, &ids, book.lost_rows, problems)).collect()
}

fn one(at: &Spot, ids: &[String], lost: bool, problems: &mut Problems) -> Option<Receipt> {
    let id = at.cell("consignment");
    let at_home = id.text().starts_with("at home");
    if !at_home && !ids.iter().any(|known| known == id.text()) {
        if lost {
            return None;
        }
        let unknown = id.error("expected a parcel of the book: a seller, or SELLER/PARCEL");
        problems.push(match words::nearest(id.text(), ids.iter().map(String::as_str)) {
            Some(near) => unknown.help(format!("did you mean `{near}`?")),
            None => unknown,
        });
        return None;
    }
    let charge = at.cell("charge").needed(problems, |t| one_of(&CHARGE_WORDS, t));
    let stated = at.cell("currency").optional(problems, currency);
    let paid = at.cell("amount");
    if paid.is_empty() {
        problems.push(paid.error("expected an amount"));
        return None;
    }
    let (value, money) = amount(&paid, stated, problems)?;
    let Some(currency) = money else {
        problems.push(at.cell("currency").error("expected the currency of the receipt"));
        return None;
    };
    let date = at.cell("date").optional(problems, Date::parse);
    Some(Receipt { consignment: id.text().to_owned(), charge: charge?, amount: value, currency, date, at: at.clone() })
}
