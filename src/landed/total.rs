//! All bills of a build, what is simply held, and the three totals that always stand together.

use super::bill::Bill;
use super::billing::{Wanted, bill, plain_bill};
use super::caution::{Caution, Cautions};
use super::deposit::{balances, paid_to_seller};
use super::disputed::Disputed;
use super::held::{Held, holding};
use super::jurisdiction::Jurisdiction;
use super::mass::{Aside, masses};
use super::parcel::{Consignment, ConsignmentState, check_places, check_rows, group};
use super::standing::{outside_tables, paid_otherwise, standing_cautions};
use super::sums::ChargeBreakdown;
use crate::book::{Book, Part, Remedies, Standing};
use crate::text::{Diagnostic, Problems};
use crate::units::{Amount, Country, Currency, Date, Dec, Grams, HomeMoney, Overflow};

/// The totals of a build, in the destination's money.
#[derive(Debug, Clone, Default)]
pub struct Totals {
    /// The sums of all bills and of parts in hand.
    pub amounts: ChargeBreakdown,
    /// What was paid for parts in hand beside their bills.
    pub held: HomeMoney,
    /// The price tags as they were typed, at the market rate, before codes and before a seller's own tax is taken off; for parts
    /// in hand, what was paid.
    pub(crate) tags: HomeMoney,
    /// The landed sum without the rows in dispute, whatever `remedies` says.
    pub landed_undisputed: HomeMoney,
    /// The landed sum with every row, whatever `remedies` says.
    pub(crate) landed_with_disputed: HomeMoney,
    /// Still to be paid with orders.
    pub to_pay_seller: HomeMoney,
    /// Still to be paid at the door.
    pub to_pay_carrier: HomeMoney,
    /// Really paid.
    pub spent: HomeMoney,
    /// Still to pay.
    pub to_pay: HomeMoney,
    /// What the next person would pay for the same bike.
    pub replacement: HomeMoney,
    /// Parts whose replacement value is not known.
    pub replacement_unknown: Vec<String>,
    /// Parts in hand for which what was paid is not known.
    pub paid_unknown: Vec<String>,
    /// The mass on the basis asked for: of all parts that it counts, with what it adds for the rider.
    pub mass: Grams,
    /// How much of it was weighed.
    pub(crate) weighed: Grams,
    /// What the tables add for what the rider carries: the least, the likely, which is in the mass, and the most; none where the
    /// basis does not count it.
    pub(crate) rider: Option<[Grams; 3]>,
    /// Parts on the bike that the basis does not count.
    pub(crate) aside: Aside,
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
    pub fn landed(&self) -> Result<HomeMoney, Overflow> {
        self.amounts.landed()
    }

    /// What the next person would pay for the same bike; none where no part has a price.
    pub(crate) fn known_replacement(&self) -> Option<HomeMoney> {
        (!self.replacement.is_zero() || self.replacement_unknown.is_empty())
            .then_some(self.replacement)
    }
}

/// The landed cost of a build.
#[derive(Debug, Clone)]
pub struct Landed {
    /// Where it is delivered.
    pub(crate) to: Country,
    /// The region.
    pub(crate) region: String,
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
    pub(crate) fn is_unpriced(&self) -> bool {
        self.bills.is_empty()
            && self
                .held
                .iter()
                .all(|held| held.given || held.paid.is_none())
            && !self.without_price().is_empty()
    }

    /// Parts that no sum counts: to be ordered without a price, or in hand without what was paid.
    pub(crate) fn without_price(&self) -> Vec<&str> {
        self.open
            .iter()
            .chain(&self.totals.paid_unknown)
            .map(String::as_str)
            .collect()
    }

    /// The sum with what is in dispute decided the other way, and its rows: with anti-dumping that is only shown, else without what
    /// is counted; none where that is the landed sum.
    pub(crate) fn decided_otherwise(&self) -> Result<Option<(HomeMoney, Vec<Disputed>)>, Overflow> {
        let t = &self.totals;
        let sums = [t.landed()?, t.landed_undisputed, t.landed_with_disputed];
        Ok(self.decided(sums))
    }

    /// The same by the sums in whatever money: what it lands at, without and with what is in dispute.
    pub(crate) fn decided<K: Copy + PartialEq>(
        &self,
        [landed, without, with]: [Amount<K>; 3],
    ) -> Option<(Amount<K>, Vec<Disputed>)> {
        let shown = with != landed;
        let other = if shown { with } else { without };
        let rows = self.bills.iter().flat_map(|bill| &bill.disputed);
        let rows = rows.filter(|one| one.counted != shown);
        (other != landed).then(|| (other, rows.cloned().collect()))
    }
}

/// Calculates any set of rows of a book as one build; the replacement value is left at zero.
pub(crate) fn cost_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Landed, Problems> {
    let mut problems = Problems::new();
    check_places(book, jurisdiction, &mut problems);
    check_rows(book, jurisdiction, &mut problems);
    super::large::refuse_large(book, jurisdiction, super::large::MONEY, &mut problems);
    let bills = each(book, rows, jurisdiction, &mut problems, |consignment| {
        bill(book, consignment, jurisdiction).and_then(|bill| charged(bill, book, jurisdiction))
    });
    let bills = unless_refused(problems, bills)?;
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
pub(crate) fn refuse_large(book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<(), Problems> {
    let mut problems = Problems::new();
    super::large::refuse_large(
        book,
        jurisdiction,
        super::large::MONEY_OF_A_PLAN,
        &mut problems,
    );
    unless_refused(problems, ())
}

/// The landed sum of rows, held parts included, without looking at any doubt: for the many runs of an estimate.
pub(crate) fn landed_rows(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Dec, Problems> {
    landed_rows_but(book, rows, jurisdiction, |_| None).map(HomeMoney::amount)
}

/// The same where the sums of some consignments are known.
pub(super) fn landed_rows_but(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    known: impl Fn(&Consignment<'_>) -> Option<ChargeBreakdown>,
) -> Result<HomeMoney, Problems> {
    let mut problems = Problems::new();
    let amounts = each(
        book,
        rows,
        jurisdiction,
        &mut problems,
        |consignment| match known(consignment) {
            Some(amounts) => Ok(amounts),
            None => plainly(book, consignment, jurisdiction)
                .and_then(|bill| Ok(charged(bill, book, jurisdiction)?.amounts)),
        },
    );
    let amounts = unless_refused(problems, amounts)?;
    let held = HomeMoney::total(
        holding(book, rows, jurisdiction)?
            .rows
            .iter()
            .filter_map(|h| h.paid),
    );
    let landed = amounts
        .iter()
        .map(ChargeBreakdown::landed)
        .collect::<Result<Vec<_>, _>>();
    held.and_then(|held| HomeMoney::total(landed?.into_iter().chain([held])))
        .map_err(Problems::from)
}

/// The bill of a parcel with nothing but its sums.
fn plainly(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Bill, Diagnostic> {
    let remedies = jurisdiction.what_if.remedies || jurisdiction.ask.remedies == Remedies::Count;
    let wanted = Wanted {
        remedies,
        trail: false,
    };
    plain_bill(book, consignment, jurisdiction, wanted)
}

/// What a parcel lands at of which no receipt tells anything.
pub(super) fn plain_sum(
    book: &Book,
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<HomeMoney, Diagnostic> {
    let bill = plainly(book, consignment, jurisdiction)?;
    Ok(bill.amounts.landed()?)
}

/// The bills of rows without the doubts beside them; `remedies` says whether they count.
pub(crate) fn bills_of(
    book: &Book,
    rows: &[&Part],
    jurisdiction: &Jurisdiction<'_>,
    remedies: bool,
) -> Result<Vec<Bill>, Problems> {
    let wanted = Wanted {
        remedies,
        trail: true,
    };
    let mut problems = Problems::new();
    let bills = each(book, rows, jurisdiction, &mut problems, |consignment| {
        plain_bill(book, consignment, jurisdiction, wanted)
            .and_then(|bill| charged(bill, book, jurisdiction))
    });
    unless_refused(problems, bills)
}

/// What was found, where no problem refuses it.
pub(super) fn unless_refused<T>(problems: Problems, found: T) -> Result<T, Problems> {
    if problems.refuse() {
        Err(problems.sorted())
    } else {
        Ok(found)
    }
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
pub(super) fn each<'a, T>(
    book: &'a Book,
    rows: &[&'a Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
    of: impl Fn(&Consignment<'a>) -> Result<T, Diagnostic>,
) -> Vec<T> {
    let consignments = group(book, rows, jurisdiction, problems);
    let mut found = Vec::with_capacity(consignments.len());
    for consignment in &consignments {
        match of(consignment) {
            Ok(done) => found.push(done),
            Err(problem) => problems.push(placed(problem, consignment)),
        }
    }
    found
}

/// A problem of a parcel, at its dearest row where it has no place of its own.
pub(super) fn placed(mut problem: Diagnostic, consignment: &Consignment<'_>) -> Diagnostic {
    let several = consignment.rows.len() > 1;
    let dearest = consignment.rows.iter().max_by_key(|row| row.price);
    if several {
        problem = problem.note(format!("in the parcel {}", consignment.id));
    }
    match dearest.filter(|_| problem.place.is_none()) {
        Some(row) if several => problem
            .note("the parcel's dearest row is marked")
            .at(row.at.place()),
        Some(row) => problem.at(row.at.place()),
        None => problem,
    }
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
    let held_paid = HomeMoney::total(held.iter().filter_map(|h| h.paid))?;
    let with_held =
        |of: fn(&Bill) -> HomeMoney| HomeMoney::total(bills.iter().map(of).chain([held_paid]));
    let mut amounts = ChargeBreakdown::total(bills.iter().map(|b| &b.amounts))?;
    amounts.goods = amounts.goods.plus(held_paid)?;
    let unknown = held.iter().filter(|held| held.paid.is_none());
    let mut totals = Totals {
        held: held_paid,
        tags: with_held(|bill| bill.tags)?,
        landed_undisputed: with_held(|bill| bill.landed_undisputed)?,
        landed_with_disputed: with_held(|bill| bill.landed_with_disputed)?,
        spent: held_paid,
        paid_unknown: unknown.map(|held| held.part.clone()).collect(),
        amounts,
        ..Totals::default()
    };
    for bill in bills {
        totals.add_paid(bill, rows)?;
    }
    totals.to_pay = totals.to_pay_seller.plus(totals.to_pay_carrier)?;
    totals.weigh(rows, jurisdiction)?;
    Ok(totals)
}

impl Totals {
    /// Adds what of a bill is spent and what is to pay.
    fn add_paid(&mut self, bill: &Bill, rows: &[&Part]) -> Result<(), Overflow> {
        let (seller, door) = (bill.amounts.to_seller()?, bill.amounts.at_door()?);
        let known_door = bill.known.at_door()?;
        let (spent, to_pay_seller) = match bill.kind {
            ConsignmentState::InHand => {
                self.spent = HomeMoney::total([self.spent, seller, door])?;
                return Ok(());
            }
            ConsignmentState::ToOrder => {
                // Where nothing is taken for a deposit, none was paid.
                let deposit = bill.deposit.unwrap_or(HomeMoney::ZERO);
                let known = bill.known.to_seller()?.plus(deposit)?;
                (known, seller.minus(known)?)
            }
            ConsignmentState::OnOrder | ConsignmentState::Gift => {
                let left = balances(bill, rows)?.into_iter().map(|(.., left)| left);
                let paid = if bill.seller_told {
                    seller
                } else {
                    paid_to_seller(bill, rows)?
                };
                (paid, HomeMoney::total(left)?)
            }
        };
        self.spent = HomeMoney::total([self.spent, spent, known_door])?;
        self.to_pay_seller = self.to_pay_seller.plus(to_pay_seller)?;
        self.to_pay_carrier = self.to_pay_carrier.plus(door.minus(known_door)?)?;
        Ok(())
    }
}
