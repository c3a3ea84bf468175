//! Parts that need no calculation: in hand with what was paid known, or given. What sending them back cost is on top of that, and what
//! came back is off it.

use std::collections::BTreeSet;

use super::caution::{Cautions, Saying};
use super::jurisdiction::Jurisdiction;
use super::lost::refunded;
use super::parcel::{id_of, is_reckoned};
use super::receipt::{asked_at, is_kept, left_out, say_old_rate, with_slack};
use crate::book::{Book, ChargeWord, Part, Receipt, Standing};
use crate::text::Diagnostic;
use crate::units::{Date, Dec, HomeMoney};

/// A row that needs no calculation: in hand with what was paid known, or given.
#[derive(Debug, Clone)]
pub struct Held {
    /// The part.
    pub part: String,
    /// The places it fills.
    pub(crate) places: Vec<String>,
    /// How many.
    pub(crate) quantity: u32,
    /// What was paid for it, with what sending it back cost and less what came back; none when not known.
    pub paid: Option<HomeMoney>,
    /// What of that sending it back cost.
    pub(crate) sent_back: HomeMoney,
    /// What came back of it.
    pub(crate) refunded: HomeMoney,
    /// Whether its price came back in full, and no receipt says that it was kept.
    pub(crate) gone: bool,
    /// Whether it was given.
    pub given: bool,
    /// Where it stands in the book.
    pub(crate) row: String,
}

/// What is held, and what its receipts say.
#[derive(Debug, Default)]
pub(crate) struct Holding<'a> {
    /// The rows, by part name.
    pub(crate) rows: Vec<Held>,
    /// The receipts that are used, each with what it comes to in the destination's money.
    pub(crate) used: Vec<(&'a Receipt, HomeMoney)>,
    /// Receipts that are asked about and not used, each with the question.
    pub(crate) questioned: Vec<(&'a Receipt, String)>,
}

/// Whether a row of a book is held by what was paid, and receipts of this parcel are about it.
pub(super) fn is_paid_in(part: &Part, consignment: &str, jurisdiction: &Jurisdiction<'_>) -> bool {
    part.standing == Standing::InHand
        && part.paid.is_some()
        && !is_reckoned(part)
        && id_of(part, jurisdiction) == consignment
}

/// Whether a receipt names a part that is held, and so is not for what is calculated beside it.
pub(super) fn is_for_held(receipt: &Receipt, book: &Book, jurisdiction: &Jurisdiction<'_>) -> bool {
    let Some(name) = &receipt.part else {
        return false;
    };
    book.paid_for()
        .any(|part| part.name == *name && is_paid_in(part, &receipt.consignment, jurisdiction))
}

/// The held ones among some rows of a book.
pub(crate) fn holding<'a>(
    book: &'a Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Holding<'a>, Diagnostic> {
    let simply = |row: &&&Part| {
        matches!(row.standing, Standing::InHand | Standing::Given) && !is_reckoned(row)
    };
    let mut parts: Vec<&Part> = rows.iter().filter(simply).copied().collect();
    parts.sort_by(|a, b| a.name.cmp(&b.name));
    let mut found = Holding {
        rows: parts.iter().map(|row| one(row)).collect(),
        ..Holding::default()
    };
    let ours = |receipt: &&Receipt| {
        matches!(
            receipt.charge,
            ChargeWord::Refund | ChargeWord::ReturnFreight
        )
    };
    for receipt in book.receipts.iter().filter(ours) {
        found.read(book, receipt, (rows, &parts), jurisdiction)?;
    }
    for held in &mut found.rows {
        held.paid = held
            .paid
            .map(|paid| paid.plus(held.sent_back)?.minus(held.refunded))
            .transpose()?;
    }
    Ok(found)
}

fn one(row: &Part) -> Held {
    Held {
        part: row.name.clone(),
        places: row.places.clone(),
        quantity: row.quantity,
        paid: if row.standing == Standing::Given {
            Some(HomeMoney::ZERO)
        } else {
            row.paid.map(HomeMoney::of)
        },
        sent_back: HomeMoney::ZERO,
        refunded: HomeMoney::ZERO,
        gone: false,
        given: row.standing == Standing::Given,
        row: row.at.line().to_string(),
    }
}

/// The day a row was ordered, as its parcel tells it; else the day that is calculated with.
fn ordered(book: &Book, row: &Part, jurisdiction: &Jurisdiction<'_>) -> Date {
    book.parcel_of(row)
        .and_then(|parcel| parcel.ordered)
        .unwrap_or(jurisdiction.ask.date)
}

impl<'a> Holding<'a> {
    /// Reads one receipt of money back, or of what sending back cost, where it is for what is held.
    fn read(
        &mut self,
        book: &Book,
        receipt: &'a Receipt,
        (rows, parts): (&[&Part], &[&Part]),
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<(), Diagnostic> {
        let id = &receipt.consignment;
        let mut at: Vec<usize> = (0..parts.len())
            .filter(|at| is_paid_in(parts[*at], id, jurisdiction))
            .collect();
        match &receipt.part {
            Some(name) => at.retain(|at| parts[*at].name == *name),
            None if rows.iter().any(|row| is_reckoned(row) && row.is_in(id)) => return Ok(()),
            None => {}
        }
        let Some(first) = at.first() else {
            return Ok(());
        };
        let ordered = ordered(book, parts[*first], jurisdiction);
        let amount = jurisdiction.receipt_home(receipt, ordered)?;
        if receipt.charge == ChargeWord::ReturnFreight {
            self.send_back(book, receipt, (&at, amount), jurisdiction)
        } else {
            self.lower(receipt, (&at, parts), (amount, ordered), jurisdiction)
        }
    }

    /// Adds what sending goods back cost: to the part that went back, else to those with a refund of their own, else to all.
    fn send_back(
        &mut self,
        book: &Book,
        receipt: &'a Receipt,
        (at, amount): (&[usize], HomeMoney),
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<(), Diagnostic> {
        let named: BTreeSet<&str> = book
            .receipts
            .iter()
            .filter(|r| r.charge == ChargeWord::Refund && r.consignment == receipt.consignment)
            .filter_map(|r| r.part.as_deref())
            .collect();
        let own: Vec<usize> = at
            .iter()
            .copied()
            .filter(|at| named.contains(self.rows[*at].part.as_str()))
            .collect();
        let at = if own.is_empty() { at } else { own.as_slice() };
        let parts = amount.share(&self.weights(at)?, jurisdiction.currency().digits())?;
        for (at, part) in at.iter().zip(parts) {
            self.rows[*at].sent_back = self.rows[*at].sent_back.plus(part)?;
        }
        self.used.push((receipt, amount));
        Ok(())
    }

    /// What was paid for each and has not come back.
    fn weights(&self, at: &[usize]) -> Result<Vec<HomeMoney>, Diagnostic> {
        let left = |at: &usize| -> Result<HomeMoney, Diagnostic> {
            let held = &self.rows[*at];
            let paid = held.paid.ok_or_else(|| {
                Diagnostic::defect("a receipt is for a part of which nothing tells what was paid")
            })?;
            Ok(paid.minus(held.refunded)?.max(HomeMoney::ZERO))
        };
        at.iter().map(left).collect()
    }

    /// Lowers what was paid by what came back, unless that is more than was paid.
    fn lower(
        &mut self,
        receipt: &'a Receipt,
        (at, parts): (&[usize], &[&Part]),
        (amount, ordered): (HomeMoney, Date),
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<(), Diagnostic> {
        let digits = jurisdiction.currency().digits();
        let weights = self.weights(at)?;
        let there = HomeMoney::total(weights.iter().copied())?;
        let exchanged = receipt.currency != jurisdiction.currency();
        let rate = jurisdiction.market_rate(receipt.currency, ordered)?.rate;
        let then = HomeMoney::of(rate.convert(receipt.amount)?);
        let pennies = HomeMoney::of(Dec::new(2, digits));
        if amount.min(then) > with_slack(there, exchanged)?.plus(pennies)? {
            let for_what = receipt.part.as_deref().unwrap_or("this parcel");
            let question = format!(
                "is the amount right? It is more than the {} that was paid for {for_what}",
                jurisdiction.money(there)
            );
            self.questioned.push((receipt, question));
            return Ok(());
        }
        for (at, part) in at.iter().zip(amount.share(&weights, digits)?) {
            let held = &mut self.rows[*at];
            held.refunded = held.refunded.plus(part)?;
            let price = parts[*at]
                .price
                .map(|price| price.times(Dec::from(held.quantity)))
                .transpose()?;
            let asked = price
                .filter(|_| amount.is_positive() && parts[*at].currency == Some(receipt.currency));
            let came = if amount.is_positive() {
                receipt.amount.times(part.amount())?.over(amount.amount())?
            } else {
                Dec::ZERO
            };
            let all = held.paid.is_some_and(|paid| {
                paid.is_positive() && held.refunded.plus(pennies).is_ok_and(|all| all >= paid)
            });
            held.gone = !is_kept(receipt)
                && (held.gone
                    || all
                    || asked.is_some_and(|asked| {
                        came.plus(pennies.amount()).is_ok_and(|came| came >= asked)
                    }));
        }
        self.used.push((receipt, amount));
        Ok(())
    }

    /// Says in words what its receipts do, and asks the questions about them.
    pub(crate) fn say(&self, jurisdiction: &Jurisdiction<'_>, cautions: &mut Cautions) {
        for held in self
            .rows
            .iter()
            .filter(|held| !held.sent_back.is_zero() || !held.refunded.is_zero())
        {
            let back = (!held.refunded.is_zero()).then(|| {
                format!(
                    "less the {} that came back",
                    jurisdiction.money(held.refunded)
                )
            });
            let sent = (!held.sent_back.is_zero()).then(|| {
                format!(
                    "with the {} that sending it back cost",
                    jurisdiction.money(held.sent_back)
                )
            });
            let how: Vec<String> = back.into_iter().chain(sent).collect();
            let saying = Saying::new(format!(
                "It is counted by its `paid`, {}",
                how.join(" and ")
            ));
            let saying = saying.so("If `paid` already allows for that, correct `paid`.");
            let saying = match held.refunded.plus(held.sent_back) {
                Ok(both) => saying.costs(both),
                Err(_) => saying.costs_unknown(),
            };
            cautions.say("paid-and-receipts", saying, &[&held.part]);
        }
        for (receipt, _) in &self.used {
            say_old_rate(receipt, jurisdiction.ask.date, jurisdiction, cautions);
        }
        let gone: Vec<&str> = self
            .rows
            .iter()
            .filter(|held| held.gone)
            .map(|held| held.part.as_str())
            .collect();
        if !gone.is_empty() {
            cautions.say("refunded-in-full", refunded(), &gone);
        }
        for (receipt, question) in &self.questioned {
            let is_home = receipt.currency == jurisdiction.currency();
            let worth = is_home.then(|| HomeMoney::of(receipt.amount));
            let saying = left_out(receipt, question, worth);
            cautions.say("receipt-questioned", saying, &[&receipt.consignment]);
        }
    }

    /// The questions as warnings, each at its cell.
    pub(super) fn warnings(&self) -> Vec<Diagnostic> {
        let help = "it is left out, and what was paid stays as entered, until the row is corrected";
        self.questioned
            .iter()
            .map(|(receipt, question)| asked_at(receipt, question, help))
            .collect()
    }
}
