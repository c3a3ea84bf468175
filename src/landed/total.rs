//! All bills of a build, what is simply held, and the three totals that always stand together.

use super::bill::{Bill, ChargeBreakdown};
use super::billing::{Wanted, bill, plain_bill};
use super::caution::{Caution, Cautions};
use super::deposit::{balances, paid_to_seller};
use super::disputed::Disputed;
use super::held::{Held, holding};
use super::jurisdiction::Jurisdiction;
use super::mass::{Aside, masses};
use super::parcel::{Consignment, ConsignmentState, check_places, check_rows, group};
use super::standing::{outside_tables, paid_otherwise, standing_cautions};
use crate::book::{Book, Part, Standing};
use crate::text::{Diagnostic, Problems};
use crate::units::{Country, Currency, Date, Dec, Grams, Overflow};

/// The totals of a build, in the destination's money.
#[derive(Debug, Clone, Default)]
pub struct Totals {
    /// The sums of all bills and of what is held.
    pub amounts: ChargeBreakdown,
    /// What was paid for parts in hand beside their bills.
    pub held: Dec,
    /// The price tags as they were typed, at the market rate, and what was paid for what is held.
    pub tags: Dec,
    /// The landed sum without the rows in dispute, whatever `remedies` says.
    pub landed_undisputed: Dec,
    /// The landed sum with every row, whatever `remedies` says.
    pub landed_with_disputed: Dec,
    /// Still to be paid with orders.
    pub to_pay_seller: Dec,
    /// Still to be paid at the door.
    pub to_pay_carrier: Dec,
    /// Really paid.
    pub spent: Dec,
    /// Still to pay.
    pub to_pay: Dec,
    /// What the next person would pay for the same bike.
    pub replacement: Dec,
    /// Parts whose replacement value is not known.
    pub replacement_unknown: Vec<String>,
    /// Parts in hand for which what was paid is not known.
    pub paid_unknown: Vec<String>,
    /// The mass on the basis asked for: of all parts that it counts, with what it adds for the rider.
    pub mass: Grams,
    /// How much of it was weighed.
    pub weighed: Grams,
    /// What the tables add for what the rider carries: the least, the likely, which is in the mass, and the most; none where the
    /// basis does not count it.
    pub rider: Option<[Grams; 3]>,
    /// Parts on the bike that the basis does not count.
    pub aside: Aside,
    /// Parts without a mass.
    pub mass_unknown: Vec<String>,
}

impl Totals {
    /// Sets what rows weigh on the basis asked for.
    pub(super) fn weigh(
        &mut self,
        rows: &[&Part],
        jurisdiction: &Jurisdiction<'_>,
    ) -> Result<(), Overflow> {
        let found = masses(rows, jurisdiction)?;
        (self.mass, self.weighed) = (found.mass, found.weighed);
        (self.rider, self.aside) = (found.rider, found.aside);
        self.mass_unknown = found.unknown;
        Ok(())
    }

    /// The landed cost.
    pub fn landed(&self) -> Result<Dec, Overflow> {
        self.amounts.landed()
    }

    /// What the next person would pay for the same bike; none where no part has a price.
    pub fn known_replacement(&self) -> Option<Dec> {
        (!self.replacement.is_zero() || self.replacement_unknown.is_empty())
            .then_some(self.replacement)
    }

    /// The price tags, before codes and before a seller's own tax is taken off; of what is held, what was paid.
    pub fn price_tags(&self) -> Dec {
        self.tags
    }
}

/// The landed cost of a build.
#[derive(Debug, Clone)]
pub struct Landed {
    /// Where it is delivered.
    pub to: Country,
    /// The region.
    pub region: String,
    /// The destination's money.
    pub currency: Currency,
    /// The day of ordering.
    pub date: Date,
    /// Bills by id.
    pub bills: Vec<Bill>,
    /// Rows that need no calculation.
    pub held: Vec<Held>,
    /// The totals.
    pub totals: Totals,
    /// Build rows without price and mass.
    pub open: Vec<String>,
    /// Receipts for what is held that are asked about and not used, as warnings at their cells.
    pub questions: Vec<Diagnostic>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

impl Landed {
    /// Whether nothing at all has a price or a payment, though there are parts: a sum of zero says nothing then.
    pub fn is_unpriced(&self) -> bool {
        self.bills.is_empty()
            && self
                .held
                .iter()
                .all(|held| held.given || held.paid.is_none())
            && !self.without_price().is_empty()
    }

    /// Parts that no sum counts: to be ordered without a price, or in hand without what was paid.
    pub fn without_price(&self) -> Vec<&str> {
        self.open
            .iter()
            .chain(&self.totals.paid_unknown)
            .map(String::as_str)
            .collect()
    }

    /// The sum with what is in dispute decided the other way, and its rows: with anti-dumping that is only shown, else without what
    /// is counted; none where that is the landed sum.
    pub fn decided_otherwise(&self) -> Result<Option<(Dec, Vec<Disputed>)>, Overflow> {
        let (t, landed) = (&self.totals, self.totals.landed()?);
        let shown = t.landed_with_disputed != landed;
        let other = if shown {
            t.landed_with_disputed
        } else {
            t.landed_undisputed
        };
        let rows = self
            .bills
            .iter()
            .flat_map(|bill| &bill.disputed)
            .filter(|one| one.counted != shown);
        Ok((other != landed).then(|| (other, rows.cloned().collect())))
    }
}

/// Calculates any set of rows of a book as one build; the replacement value is left at zero.
pub fn cost_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Landed, Problems> {
    let mut problems = Problems::new();
    check_places(book, jurisdiction, &mut problems);
    check_rows(book, jurisdiction, &mut problems);
    super::large::refuse_large(book, jurisdiction, super::large::MONEY, &mut problems);
    let bills = bills(book, rows, jurisdiction, &mut problems);
    if problems.refuse() {
        return Err(problems.sorted());
    }
    let holding = holding(book, rows, jurisdiction)?;
    let totals = totals(&bills, &holding.rows, rows, jurisdiction)?;
    let mut cautions = Cautions::default();
    standing_cautions(rows, &bills, jurisdiction, &mut cautions);
    bills
        .iter()
        .for_each(|bill| cautions.extend(bill.cautions.clone()));
    super::doubt::about_unused(book, rows, &bills, jurisdiction, &mut cautions);
    outside_tables(jurisdiction, &bills, &mut cautions);
    paid_otherwise(&bills, rows, jurisdiction, &mut cautions)?;
    holding.say(jurisdiction, &mut cautions);
    Ok(Landed {
        to: jurisdiction.ask.to,
        region: jurisdiction.region.clone(),
        currency: jurisdiction.currency(),
        date: jurisdiction.ask.date,
        bills,
        questions: holding.warnings(),
        held: holding.rows,
        totals,
        open: rows
            .iter()
            .filter(|row| is_open(row))
            .map(|row| row.name.clone())
            .collect(),
        cautions: cautions.into_list(),
    })
}

/// Refuses a book with a figure too large for the whole numbers of a plan.
pub fn refuse_large(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<(), Problems> {
    let mut problems = Problems::new();
    super::large::refuse_large(
        book,
        jurisdiction,
        super::large::MONEY_OF_A_PLAN,
        &mut problems,
    );
    if problems.refuse() {
        Err(problems.sorted())
    } else {
        Ok(())
    }
}

/// The landed sum of rows, held parts included, without looking at any doubt: for the many runs of an estimate.
pub fn sum_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    sum_rows_but(book, rows, jurisdiction, |_| None)
}

/// The same where the sums of some consignments are known.
pub(super) fn sum_rows_but(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    known: impl Fn(&Consignment<'_>) -> Option<ChargeBreakdown>,
) -> Result<Dec, Problems> {
    let remedies =
        jurisdiction.what_if.remedies || jurisdiction.ask.remedies == crate::book::Remedies::Count;
    let wanted = Wanted {
        remedies,
        trail: false,
    };
    let mut problems = Problems::new();
    let amounts = each(
        book,
        rows,
        jurisdiction,
        &mut problems,
        |consignment| match known(consignment) {
            Some(amounts) => Ok(amounts),
            None => plain_bill(book, consignment, jurisdiction, wanted)
                .and_then(|bill| Ok(charged(bill, book, jurisdiction)?.amounts)),
        },
    );
    if problems.refuse() {
        return Err(problems.sorted());
    }
    let held = Dec::total(
        holding(book, rows, jurisdiction)?
            .rows
            .iter()
            .filter_map(|h| h.paid),
    );
    let landed = amounts
        .iter()
        .map(ChargeBreakdown::landed)
        .collect::<Result<Vec<_>, _>>();
    held.and_then(|held| Dec::total(landed?.into_iter().chain([held])))
        .map_err(Problems::from)
}

/// The bills of rows without the doubts beside them; `remedies` says whether they count.
pub fn bills_of(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    remedies: bool,
) -> Result<Vec<Bill>, Problems> {
    plain_bills(
        book,
        rows,
        jurisdiction,
        Wanted {
            remedies,
            trail: true,
        },
    )
}

fn plain_bills(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    wanted: Wanted,
) -> Result<Vec<Bill>, Problems> {
    let mut problems = Problems::new();
    let plain = |consignment: &Consignment<'_>| {
        plain_bill(book, consignment, jurisdiction, wanted)
            .and_then(|bill| charged(bill, book, jurisdiction))
    };
    let bills = each(book, rows, jurisdiction, &mut problems, plain);
    if problems.refuse() {
        Err(problems.sorted())
    } else {
        Ok(bills)
    }
}

/// The landed sum of rows, held parts included, and nothing else.
pub fn landed_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    sum_rows(book, rows, jurisdiction)
}

fn bills(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> Vec<Bill> {
    each(book, rows, jurisdiction, problems, |consignment| {
        bill(book, consignment, jurisdiction).and_then(|bill| charged(bill, book, jurisdiction))
    })
}

/// A bill with what receipts say in it.
fn charged(
    mut bill: Bill,
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Bill, Diagnostic> {
    super::actual::put(&mut bill, book, jurisdiction)?;
    Ok(bill)
}

/// Calculates every consignment of the rows, finding every problem.
fn each<T>(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
    reckon: impl Fn(&Consignment<'_>) -> Result<T, Diagnostic>,
) -> Vec<T> {
    let consignments = group(book, rows, jurisdiction, problems);
    let mut found = Vec::with_capacity(consignments.len());
    for consignment in &consignments {
        match reckon(consignment) {
            Ok(done) => found.push(done),
            Err(problem) => {
                let several = consignment.rows.len() > 1;
                let first = consignment
                    .rows
                    .iter()
                    .max_by_key(|row| row.price)
                    .map(|row| row.at.place());
                let problem = if several {
                    problem.note(format!("in the parcel {}", consignment.id))
                } else {
                    problem
                };
                problems.push(match first.filter(|_| problem.place.is_none()) {
                    Some(first) if several => {
                        problem.note("the parcel's dearest row is marked").at(first)
                    }
                    Some(first) => problem.at(first),
                    None => problem,
                });
            }
        }
    }
    found
}

/// A row that says nothing yet.
fn is_open(row: &Part) -> bool {
    row.price.is_none() && matches!(row.standing, Standing::ToOrder | Standing::OnOrder)
}

fn totals(
    bills: &[Bill],
    held: &[Held],
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Totals, Overflow> {
    let held_paid = Dec::total(held.iter().filter_map(|h| h.paid))?;
    let mut amounts = ChargeBreakdown::total(bills.iter().map(|b| &b.amounts))?;
    amounts.goods = amounts.goods.plus(held_paid)?;
    let mut totals = Totals {
        held: held_paid,
        tags: Dec::total(bills.iter().map(|b| b.tags))?.plus(held_paid)?,
        landed_undisputed: Dec::total(bills.iter().map(|b| b.landed_undisputed))?
            .plus(held_paid)?,
        landed_with_disputed: Dec::total(bills.iter().map(|b| b.landed_with_disputed))?
            .plus(held_paid)?,
        spent: held_paid,
        paid_unknown: held
            .iter()
            .filter(|h| h.paid.is_none())
            .map(|h| h.part.clone())
            .collect(),
        amounts,
        ..Totals::default()
    };
    for bill in bills {
        let (seller, door) = (bill.amounts.to_seller()?, bill.amounts.at_door()?);
        let (known_seller, known_door) = (bill.known.to_seller()?, bill.known.at_door()?);
        match bill.kind {
            ConsignmentState::ToOrder => {
                let known_seller = known_seller.plus(bill.deposit.unwrap_or(Dec::ZERO))?;
                totals.spent = Dec::total([totals.spent, known_seller, known_door])?;
                totals.to_pay_seller = totals.to_pay_seller.plus(seller.minus(known_seller)?)?;
                totals.to_pay_carrier = totals.to_pay_carrier.plus(door.minus(known_door)?)?;
            }
            ConsignmentState::OnOrder | ConsignmentState::Gift => {
                let paid = if bill.seller_told {
                    seller
                } else {
                    paid_to_seller(bill, rows)?
                };
                let balance = Dec::total(balances(bill, rows)?.into_iter().map(|(.., left)| left))?;
                totals.to_pay_seller = totals.to_pay_seller.plus(balance)?;
                totals.spent = Dec::total([totals.spent, paid, known_door])?;
                totals.to_pay_carrier = totals.to_pay_carrier.plus(door.minus(known_door)?)?;
            }
            ConsignmentState::InHand => totals.spent = totals.spent.plus(seller.plus(door)?)?,
        }
    }
    totals.to_pay = totals.to_pay_seller.plus(totals.to_pay_carrier)?;
    totals.weigh(rows, jurisdiction)?;
    Ok(totals)
}
