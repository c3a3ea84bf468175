//! All bills of a build, what is simply held, and the three totals that always stand together.

use super::ask::Ask;
use super::bill::{Amounts, Bill, bill, plain_bill};
use super::caution::{Caution, Cautions};
use super::desk::Desk;
use super::parcel::{Consignment, Kind, check_places, check_rows, group, is_reckoned};
use crate::book::{Book, MassKind, Part, Standing};
use crate::tables::Tables;
use crate::text::{Diagnostic, Problems};
use crate::units::{Country, Currency, Date, Dec, Grams, Overflow};

/// A row that needs no reckoning: in hand with what was paid known, or given.
#[derive(Debug, Clone)]
pub struct Held {
    /// The part.
    pub part: String,
    /// The places it fills.
    pub places: Vec<String>,
    /// How many.
    pub quantity: u32,
    /// What was paid for it; none when not known.
    pub paid: Option<Dec>,
    /// Whether it was given.
    pub given: bool,
    /// Where it stands in the book.
    pub row: String,
}

/// The totals of a build, in the destination's money.
#[derive(Debug, Clone, Default)]
pub struct Totals {
    /// The sums of all bills and of what is held.
    pub amounts: Amounts,
    /// What was paid for parts in hand beside their bills.
    pub held: Dec,
    /// The same without disputed rows.
    pub landed_undisputed: Dec,
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
    /// The mass of all parts on the bike.
    pub mass: Grams,
    /// How much of it was weighed.
    pub weighed: Grams,
    /// Parts without a mass.
    pub mass_unknown: Vec<String>,
}

impl Totals {
    /// The landed cost.
    pub fn landed(&self) -> Result<Dec, Overflow> {
        self.amounts.landed()
    }

    /// The goods' price tags: goods less discounts, and what was paid for what is held.
    pub fn price_tags(&self) -> Result<Dec, Overflow> {
        self.amounts.goods.minus(self.amounts.discount)
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
    /// Rows that need no reckoning.
    pub held: Vec<Held>,
    /// The totals.
    pub totals: Totals,
    /// Build rows without price and mass.
    pub open: Vec<String>,
    /// What must be said.
    pub cautions: Vec<Caution>,
}

/// Reckons the landed cost of a book's build.
pub fn cost(book: &Book, tables: &Tables, ask: &Ask) -> Result<Landed, Problems> {
    let desk = Desk::open(tables, ask)?;
    cost_at(book, &desk)
}

/// As [`cost`], at a desk that is open already.
pub fn cost_at(book: &Book, desk: &Desk<'_>) -> Result<Landed, Problems> {
    let rows: Vec<&Part> = book.build().collect();
    let mut landed = cost_rows(book, &rows, desk)?;
    let (replacement, unknown) = replacement(book, &rows, desk)?;
    landed.totals.replacement = replacement;
    landed.totals.replacement_unknown = unknown;
    Ok(landed)
}

/// Reckons any set of rows of a book as one build; the replacement value is left at nought.
pub fn cost_rows(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<Landed, Problems> {
    let mut problems = Problems::new();
    check_places(book, desk, &mut problems);
    check_rows(book, desk, &mut problems);
    let bills = bills(book, rows, desk, &mut problems);
    if problems.refuse() {
        return Err(problems.sorted());
    }
    let held = held(rows);
    let totals = totals(&bills, &held, rows, desk).map_err(|overflow| one_problem(overflow.into()))?;
    let mut cautions = Cautions::default();
    standing_cautions(rows, &bills, desk, &mut cautions);
    bills.iter().for_each(|bill| cautions.extend(bill.cautions.clone()));
    super::doubt::about_unused(book, rows, &bills, desk, &mut cautions);
    let ended = super::age::ended_fees(desk);
    if !ended.is_empty() {
        let text = format!("the rows of these fees have ended and none follows: not counted, and may be due: {}", ended.join(", "));
        cautions.say("fee-ended", text, &[]);
    }
    outside_tables(desk, &bills, &mut cautions);
    paid_otherwise(&bills, rows, desk, &mut cautions).map_err(|overflow| one_problem(overflow.into()))?;
    Ok(Landed {
        to: desk.ask.to,
        region: desk.ask.region.clone(),
        currency: desk.currency(),
        date: desk.ask.date,
        bills,
        held,
        totals,
        open: rows.iter().filter(|row| is_open(row)).map(|row| row.name.clone()).collect(),
        cautions: cautions.into_list(),
    })
}

/// The landed sum of rows, held parts included, without looking at any doubt: for the many runs of an estimate.
pub fn sum_rows(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<Dec, Problems> {
    let bills = bills_of(book, rows, desk, desk.ask.remedies == crate::book::Remedies::Count)?;
    let held = Dec::total(held(rows).iter().filter_map(|h| h.paid));
    let landed = bills.iter().map(|bill| bill.amounts.landed()).collect::<Result<Vec<_>, _>>();
    held.and_then(|held| Dec::total(landed?.into_iter().chain([held]))).map_err(|overflow| one_problem(overflow.into()))
}

/// The bills of rows without the doubts beside them; `remedies` says whether they count.
pub fn bills_of(book: &Book, rows: &[&Part], desk: &Desk<'_>, remedies: bool) -> Result<Vec<Bill>, Problems> {
    let mut problems = Problems::new();
    let plain = |consignment: &Consignment<'_>| plain_bill(book, consignment, desk, remedies).and_then(|bill| charged(bill, book, desk));
    let bills = each(book, rows, desk, &mut problems, plain);
    if problems.refuse() { Err(problems.sorted()) } else { Ok(bills) }
}

/// What the next person would pay for the same rows, under whatever the desk supposes.
pub fn replacement_of(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<Dec, Problems> {
    let (today, parts) = anew(book, rows);
    sum_rows(&today, &parts.iter().collect::<Vec<_>>(), desk)
}

/// The same with its bills and all that is doubtful about them; held parts have no replacement and are not in it.
pub fn replacement_rows(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<Landed, Problems> {
    let (today, parts) = anew(book, rows);
    cost_rows(&today, &parts.iter().collect::<Vec<_>>(), desk)
}

/// The landed sum of rows, held parts included, and nothing else.
pub fn landed_rows(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<Dec, Problems> {
    sum_rows(book, rows, desk)
}

fn bills(book: &Book, rows: &[&Part], desk: &Desk<'_>, problems: &mut Problems) -> Vec<Bill> {
    each(book, rows, desk, problems, |consignment| bill(book, consignment, desk).and_then(|bill| charged(bill, book, desk)))
}

/// A bill with what receipts say in it.
fn charged(mut bill: Bill, book: &Book, desk: &Desk<'_>) -> Result<Bill, Diagnostic> {
    super::actual::put(&mut bill, &book.receipts, desk)?;
    Ok(bill)
}

/// Reckons every consignment of the rows, finding every problem.
fn each<T>(
    book: &Book,
    rows: &[&Part],
    desk: &Desk<'_>,
    problems: &mut Problems,
    reckon: impl Fn(&Consignment<'_>) -> Result<T, Diagnostic>,
) -> Vec<T> {
    let consignments = group(book, rows, desk, problems);
    let mut found = Vec::with_capacity(consignments.len());
    for consignment in &consignments {
        match reckon(consignment) {
            Ok(done) => found.push(done),
            Err(problem) => {
                let several = consignment.rows.len() > 1;
                let first = consignment.rows.iter().max_by_key(|row| row.price).map(|row| row.at.place());
                let problem = if several { problem.note(format!("in the parcel {}", consignment.id)) } else { problem };
                problems.push(match first.filter(|_| problem.place.is_none()) {
                    Some(first) if several => problem.note("the parcel's dearest row is marked").at(first),
                    Some(first) => problem.at(first),
                    None => problem,
                });
            }
        }
    }
    found
}

fn one_problem(problem: Diagnostic) -> Problems {
    let mut problems = Problems::new();
    problems.push(problem);
    problems
}

/// A row that says nothing yet.
fn is_open(row: &Part) -> bool {
    row.price.is_none() && matches!(row.standing, Standing::ToOrder | Standing::OnOrder)
}

/// Rows in hand with what was paid known or unknown, and given rows without a seller.
fn held(rows: &[&Part]) -> Vec<Held> {
    let simply = |row: &&&Part| matches!(row.standing, Standing::InHand | Standing::Given) && !is_reckoned(row);
    let mut found: Vec<Held> = rows
        .iter()
        .filter(simply)
        .map(|row| Held {
            part: row.name.clone(),
            places: row.places.clone(),
            quantity: row.quantity,
            paid: if row.standing == Standing::Given { Some(Dec::ZERO) } else { row.paid },
            given: row.standing == Standing::Given,
            row: row.at.place().to_string(),
        })
        .collect();
    found.sort_by(|a, b| a.part.cmp(&b.part));
    found
}

fn totals(bills: &[Bill], held: &[Held], rows: &[&Part], desk: &Desk<'_>) -> Result<Totals, Overflow> {
    let held_paid = Dec::total(held.iter().filter_map(|h| h.paid))?;
    let mut amounts = Amounts::total(bills.iter().map(|b| &b.amounts))?;
    amounts.goods = amounts.goods.plus(held_paid)?;
    let mut totals = Totals {
        held: held_paid,
        landed_undisputed: Dec::total(bills.iter().map(|b| b.landed_undisputed))?.plus(held_paid)?,
        spent: held_paid,
        paid_unknown: held.iter().filter(|h| h.paid.is_none()).map(|h| h.part.clone()).collect(),
        amounts,
        ..Totals::default()
    };
    for bill in bills {
        let (seller, door) = (bill.amounts.to_seller()?, bill.amounts.at_door()?);
        let (known_seller, known_door) = (bill.known.to_seller()?, bill.known.at_door()?);
        match bill.kind {
            Kind::ToOrder => {
                totals.spent = Dec::total([totals.spent, known_seller, known_door])?;
                totals.to_pay_seller = totals.to_pay_seller.plus(seller.minus(known_seller)?)?;
                totals.to_pay_carrier = totals.to_pay_carrier.plus(door.minus(known_door)?)?;
            }
            Kind::OnOrder | Kind::Gift => {
                let paid = if known_seller.is_zero() { paid_to_seller(bill, rows)? } else { seller };
                totals.spent = Dec::total([totals.spent, paid, known_door])?;
                totals.to_pay_carrier = totals.to_pay_carrier.plus(door.minus(known_door)?)?;
            }
            Kind::InHand => totals.spent = totals.spent.plus(seller.plus(door)?)?,
        }
    }
    totals.to_pay = totals.to_pay_seller.plus(totals.to_pay_carrier)?;
    masses(rows, desk, &mut totals)?;
    Ok(totals)
}

/// What was really paid to a seller: as told for each row, else as reckoned.
fn paid_to_seller(bill: &Bill, rows: &[&Part]) -> Result<Dec, Overflow> {
    let told: Vec<&&Part> = rows.iter().filter(|row| row.paid.is_some()).collect();
    bill.lines.iter().try_fold(Dec::ZERO, |sum, line| {
        let row = told.iter().find(|row| row.name == line.part && row.at.place().to_string() == line.row);
        match row.and_then(|row| row.paid) {
            Some(paid) => sum.plus(paid),
            None => sum.plus(line.amounts.to_seller()?),
        }
    })
}

/// Tools, fluids, shop work and spares carry money and no mass.
fn masses(rows: &[&Part], desk: &Desk<'_>, totals: &mut Totals) -> Result<(), Overflow> {
    for row in rows {
        let on_the_bike = row.places.iter().any(|place| desk.place(place).is_some_and(|p| !p.is_workshop()));
        if !on_the_bike {
            continue;
        }
        match row.total_mass() {
            Some(mass) => {
                totals.mass = totals.mass.plus(mass)?;
                if row.mass_kind == MassKind::Weighed {
                    totals.weighed = totals.weighed.plus(mass)?;
                }
            }
            None if row.standing != Standing::Bundled => totals.mass_unknown.push(row.name.clone()),
            None => {}
        }
    }
    totals.mass_unknown.sort();
    Ok(())
}

/// The engine run with every row as to be ordered today, and the parts for which that is not known.
fn replacement(book: &Book, rows: &[&Part], desk: &Desk<'_>) -> Result<(Dec, Vec<String>), Problems> {
    let (today, anew) = anew(book, rows);
    let refs: Vec<&Part> = anew.iter().collect();
    let total = landed_rows(&today, &refs, desk)?;
    let missing = rows.iter().filter(|row| row.standing != Standing::Bundled && row.price.is_none());
    Ok((total, missing.map(|row| row.name.clone()).collect()))
}

/// A book of the rows as to be ordered today.
fn anew(book: &Book, rows: &[&Part]) -> (Book, Vec<Part>) {
    let anew: Vec<Part> = rows
        .iter()
        .filter(|row| row.standing != Standing::Bundled && row.price.is_some())
        .map(|row| Part { standing: Standing::ToOrder, parcel: String::new(), ..(*row).clone() })
        .collect();
    let anew: Vec<Part> = anew.into_iter().map(|row| Part { seller: buyable(book, &row), ..row }).collect();
    let today = Book {
        settings: book.settings.clone(),
        parts: anew.clone(),
        sellers: book.sellers.clone(),
        discounts: book.discounts.clone(),
        ..Book::default()
    };
    (today, anew)
}

/// A gift's sender sells nothing: its part is bought at home at the declared value.
fn buyable(book: &Book, row: &Part) -> Option<String> {
    let seller = row.seller.as_ref()?;
    let gift = book.sellers.get(seller).is_some_and(|s| s.sender == Some(crate::book::Sender::Gift));
    (!gift).then(|| seller.clone())
}

/// A price seen longer ago than this is said.
const OLD_PRICE: i64 = 45;

/// What is always said where it applies.
fn standing_cautions(rows: &[&Part], bills: &[Bill], desk: &Desk<'_>, cautions: &mut Cautions) {
    let day = desk.ask.date;
    cautions.say("estimate", "an estimate, not a ruling: customs and the carrier decide", &[]);
    if bills.iter().any(|b| !desk.is_home(b.dispatch.code())) {
        cautions.say(
            "declare",
            "declare the true price; never ask a seller for a lower one or for \"gift\"; do not split an order to stay under a limit",
            &[],
        );
        cautions.say("scams", "pay charges only through the carrier's own site", &[]);
    }
    let carbon = |row: &&&Part| row.traits.get("material").is_some_and(|m| m == "carbon");
    let steers = ["frame", "fork", "handlebar", "stem", "seatpost", "wheels", "calipers", "brakes"];
    let critical = |row: &&&Part| row.places.iter().any(|p| steers.contains(&p.as_str()));
    let unproven: Vec<&str> = rows
        .iter()
        .filter(|row| row.evidence.is_empty() && row.seller.is_some() && (critical(row) || carbon(row)))
        .map(|row| row.name.as_str())
        .collect();
    if !unproven.is_empty() {
        let text = "no test report is noted: ask for part, lab and date (ISO 4210), keep to printed torque and mass limits, and have brakes and steering checked by a qualified mechanic";
        cautions.say("evidence", text, &unproven);
    }
    let stale = |row: &&&Part| row.standing == Standing::ToOrder && row.seen.is_some_and(|seen| day.days_since(seen) > OLD_PRICE);
    let stale: Vec<&str> = rows.iter().filter(stale).map(|row| row.name.as_str()).collect();
    if !stale.is_empty() {
        cautions.say("price-old", format!("the price was seen more than {OLD_PRICE} days before ordering: look again"), &stale);
    }
    let fluids = |part: &&&Part| part.fits.contains_key("brake_fluid");
    if rows.iter().any(|row| fluids(&row)) {
        cautions.say("fluids", "brake fluids do not mix: mineral oil and DOT are for different seals", &[]);
    }
}

/// Where the rows of a parcel on its way say that something else was paid than is reckoned, what is spent and what is still
/// to pay do not add up to the landed cost; both sums are said.
fn paid_otherwise(bills: &[Bill], rows: &[&Part], desk: &Desk<'_>, cautions: &mut Cautions) -> Result<(), Overflow> {
    let money = |amount: Dec| format!("{} {}", amount.grouped(desk.currency().digits()), desk.currency());
    for bill in bills.iter().filter(|b| matches!(b.kind, Kind::OnOrder | Kind::Gift)) {
        let reckoned = bill.amounts.to_seller()?;
        let paid = paid_to_seller(bill, rows)?;
        if paid != reckoned && bill.known.to_seller()?.is_zero() {
            let text = format!(
                "{} was paid where {} is reckoned: the first is in what is spent, the second in the landed cost",
                money(paid),
                money(reckoned)
            );
            cautions.say("paid-otherwise", text, &[&bill.id]);
        }
    }
    Ok(())
}

/// A day before the tables begin or after they were last read is said.
fn outside_tables(desk: &Desk<'_>, bills: &[Bill], cautions: &mut Cautions) {
    let stamps = || desk.law.charges.iter().map(|r| &r.stamp).filter(|s| s.counts());
    let (first, read) = (stamps().filter_map(|s| s.span.from).min(), stamps().filter_map(|s| s.checked).max());
    for bill in bills.iter().filter(|b| !b.trail.is_empty() && !desk.is_home(b.dispatch.code())) {
        if let Some(first) = first.filter(|first| bill.arrival < *first) {
            cautions.say(
                "before-tables",
                format!("the tables begin on {first}: before that nothing is charged here, which is not what was due"),
                &[&bill.id],
            );
        }
        if let Some(read) = read.filter(|read| bill.arrival.days_since(*read) > 366) {
            cautions.say(
                "after-tables",
                format!("the tables were last read on {read}, more than a year before the arrival: rates may have changed"),
                &[&bill.id],
            );
        }
    }
}
