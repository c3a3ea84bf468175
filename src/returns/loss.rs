//! The sum of sending one part back, line by line of what was paid for it.

use crate::book::{Book, Fault, Part, Role, Standing};
use crate::landed::{Bill, BillLine, Jurisdiction, bills_of, id_of};
use crate::tables::{Back, Dated, Reason, RefundRow};
use crate::text::{Diagnostic, Problems, words};
use crate::units::{Date, Dec, HomeMoney, Mode, Money, Overflow, Rate, SellerMoney};

/// One charge that was paid for a part, and what becomes of it.
#[derive(Debug, Clone)]
pub struct BackLine {
    /// Its word.
    pub charge: &'static str,
    /// The part's share of it.
    pub paid: Dec,
    /// Whether it comes back.
    pub(crate) back: Back,
    /// What comes back or may, in the destination's money on the day of the refund.
    pub amount: Dec,
    /// From whom.
    pub(crate) from: String,
    /// The last day to ask for it.
    pub(crate) until: Option<Date>,
    /// The row, and what it says; empty where the tables say nothing.
    pub(crate) row: String,
    /// In plain words.
    pub(crate) text: String,
    /// Whether it came back already, as receipts say.
    pub booked: bool,
}

/// A part that goes back.
#[derive(Debug, Clone)]
pub struct Returned {
    /// The part.
    pub(crate) part: String,
    /// Its parcel.
    pub(crate) consignment: String,
    /// The bill of that.
    pub(crate) bill: Bill,
    /// Why it goes back.
    pub(crate) reason: Reason,
    /// The day it is looked at.
    pub(crate) day: Date,
    /// Whether it was missing when its parcel came, or damaged.
    pub(crate) fault: Option<Fault>,
    /// What it cost on the doormat.
    pub landed: Dec,
    /// Charge by charge.
    pub lines: Vec<BackLine>,
    /// The day of the market rate by which it is exchanged again; none in the destination's own money.
    pub(crate) rate_day: Option<Date>,
    /// The price that comes back in the seller's money, and the destination's money for it then and now.
    pub refund: (Money, Dec, Dec),
    /// What sending back costs; none when it is not known.
    pub freight_back: Option<Dec>,
    /// Whether receipts tell that.
    pub freight_back_told: bool,
    /// What surely comes back, less what sending back costs.
    pub surely_back: Dec,
    /// What may come back on top.
    pub(crate) possibly_back: Dec,
    /// What came back already, as receipts say; it is in what surely comes back.
    pub came_back: Dec,
    /// Whether its price came back in full: it went back, or was lost.
    pub went_back: bool,
    /// What it would fetch here.
    pub(crate) resale: Option<Dec>,
    /// Whether the card's issuer answers for it as well: yes, or the row that says under what.
    pub(crate) card_cover: Option<(bool, String, String)>,
    /// Months of warranty, as told, and the last day of it.
    pub(crate) warranty: Option<(u32, Date)>,
    /// Whether the destination's tables say what comes back.
    pub(crate) rules_known: bool,
}

impl Returned {
    /// What is lost when it goes back and nothing possible comes.
    pub fn lost(&self) -> Result<Dec, Overflow> {
        self.landed.minus(self.surely_back)
    }

    /// Whether it is to be claimed as it never came, and nothing of it can be sent back.
    pub(crate) fn never_came(&self) -> bool {
        self.fault == Some(Fault::Missing) && !self.went_back
    }

    /// What is certain to come back and has not yet: what the seller is asked for.
    pub(crate) fn owed(&self) -> Result<Dec, Overflow> {
        let open = self
            .lines
            .iter()
            .filter(|line| line.back == Back::Yes && !line.booked);
        Dec::total(open.map(|line| line.amount))
    }

    /// The last day to ask, of the first claim that ends.
    pub(crate) fn until(&self) -> Option<Date> {
        let open = self
            .lines
            .iter()
            .filter(|line| line.back != Back::No && !line.booked);
        open.filter_map(|line| line.until).min()
    }

    /// What is lost when everything possible comes back too.
    pub(crate) fn lost_at_best(&self) -> Result<Dec, Overflow> {
        self.lost()?.minus(self.possibly_back)
    }
}

/// What becomes of a part of the book, in the build or among the options, when it goes back on a day.
pub fn returned(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    part: &str,
    reason: Reason,
    day: Date,
) -> Result<Returned, Problems> {
    let row = find(book, part)?;
    among(book, jurisdiction, (row, &beside(book, row)), reason, day)
}

/// The rows that a row is ordered with.
fn beside<'a>(book: &'a Book, row: &'a Part) -> Vec<&'a Part> {
    if matches!(row.role, Role::Build | Role::Gone) {
        book.parts
            .iter()
            .filter(|other| matches!(other.role, Role::Build | Role::Gone))
            .collect()
    } else {
        book.build()
            .filter(|r| r.standing == Standing::ToOrder)
            .chain([row])
            .collect()
    }
}

/// What becomes of a row that was ordered among others.
fn among(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    (row, rows): (&Part, &[&Part]),
    reason: Reason,
    day: Date,
) -> Result<Returned, Problems> {
    let part = row.name.as_str();
    let bills = bills_of(book, rows, jurisdiction, true)?;
    let found = bills
        .iter()
        .find_map(|bill| Some((bill, bill.lines.iter().find(|line| line.part == part)?)));
    let Some((bill, line)) = found else {
        let what = format!(
            "{} was not bought from a seller at a price that is counted",
            words::quoted(part)
        );
        return Err(Problems::from(row.at.cell("part").error(what).help(
            "a part in hand with its own `paid`, or given, has no parcel to go back with",
        )));
    };
    sum(book, jurisdiction, (bill, line, row), reason, day).map_err(Problems::from)
}

/// What is surely lost when a part goes back because it does not fit, for those who weigh up whether to order it. They know already
/// that the book can be calculated, so that only the part's own parcel is.
pub(crate) fn lost(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    part: &str,
) -> Result<Dec, Problems> {
    let day = jurisdiction.ask.date;
    let row = find(book, part)?;
    let parcel = id_of(row, jurisdiction);
    let mut rows = beside(book, row);
    rows.retain(|other| id_of(other, jurisdiction) == parcel);
    among(book, jurisdiction, (row, &rows), Reason::Unwanted, day)?
        .lost()
        .map_err(Problems::from)
}

fn find<'a>(book: &'a Book, part: &str) -> Result<&'a Part, Problems> {
    let names = book.parts.iter().map(|p| p.name.as_str());
    let row = book.main_row(part).ok_or_else(|| {
        let unknown = Diagnostic::error(format!(
            "there is no part {} in the book",
            words::quoted(part)
        ));
        Problems::from(match words::nearest(part, names) {
            Some(near) => unknown.help(format!("did you mean `{near}`?")),
            None => unknown,
        })
    })?;
    match &row.comes_with {
        Some(holder) if row.standing == Standing::Bundled => {
            let what = format!(
                "{} came in the box of {}",
                words::quoted(part),
                words::quoted(holder)
            );
            Err(Problems::from(
                row.at
                    .cell("comes_with")
                    .error(what)
                    .help(format!("ask for `--part \"{holder}\"`")),
            ))
        }
        _ => Ok(row),
    }
}

/// What sending a line back costs: as told, else as the seller's row says.
fn freight_back(
    book: &Book,
    (bill, line): (&Bill, &BillLine),
    (now, digits): (Rate, u32),
) -> Result<Option<Dec>, Overflow> {
    let told = line.sent_back.is_positive();
    let seller = book.sellers.get(&bill.seller).filter(|_| !told);
    Ok(match seller.and_then(|seller| seller.return_freight) {
        Some(freight) => Some(now.convert(freight)?.round_to(digits, Mode::HalfUp)),
        None => told.then_some(line.sent_back.amount()),
    })
}

/// What a line was charged, sum by sum.
fn charges(line: &BillLine, owed: Dec) -> Result<[(&'static str, Dec); 9], Overflow> {
    let a = &line.amounts;
    Ok([
        ("goods", owed.max(Dec::ZERO)),
        (
            "freight",
            a.freight.minus(line.sent_back)?.amount().max(Dec::ZERO),
        ),
        ("insurance", a.insurance.amount()),
        ("tax_at_sale", a.tax_at_sale.amount()),
        ("card_fee", a.card_fee.amount()),
        ("duty", a.duty.amount()),
        ("remedy", a.remedy.amount()),
        ("tax_at_border", a.tax_at_border.amount()),
        ("handling", a.handling.amount()),
    ])
}

fn sum(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    (bill, line, row): (&Bill, &BillLine, &Part),
    reason: Reason,
    day: Date,
) -> Result<Returned, Diagnostic> {
    let digits = jurisdiction.currency().digits();
    let then = jurisdiction.market_rate(bill.paid_in, bill.ordered)?.rate;
    let latest = jurisdiction.market_rate(bill.paid_in, day.max(bill.ordered))?;
    let now = latest.rate;
    let a = &line.amounts;
    let owed = a.net_goods()?.amount();
    let net = if line.gone { Dec::ZERO } else { owed };
    let asked = asked_back(line, net, bill, (then, digits))?;
    let goods_again = if then == now {
        net
    } else {
        now.to_home(asked)?.amount().round_to(digits, Mode::HalfUp)
    };
    let mut lines = Vec::new();
    for (charge, paid) in charges(line, owed)? {
        if paid.is_zero() {
            continue;
        }
        if line.gone && charge == "goods" {
            lines.push(BackLine::lost_of_price(paid));
            continue;
        }
        let rule = rule(jurisdiction, charge, reason, bill.arrival);
        let small = match rule {
            Some(rule) => small(&rule.rule, paid, bill, jurisdiction)?,
            None => false,
        };
        let comes = match charge {
            "goods" => goods_again,
            "freight" | "insurance" | "tax_at_sale" => {
                second_exchange(paid, then, now)?.round_to(digits, Mode::HalfUp)
            }
            _ => paid,
        };
        let rule = rule.map(|rule| (rule, small));
        lines.push(back_line(charge, paid, comes, rule, bill, day));
    }
    lines.extend(booked(line)?);
    let came_back = Dec::total(lines.iter().filter(|l| l.booked).map(|l| l.amount))?;
    let total = |back: Back| Dec::total(lines.iter().filter(|l| l.back == back).map(|l| l.amount));
    let told = line.sent_back.is_positive();
    // what never came cannot be sent back
    let freight_back = match row.fault {
        Some(Fault::Missing) if !told => None,
        _ => freight_back(book, (bill, line), (now, digits))?,
    };
    let surely_back = total(Back::Yes)?.minus(freight_back.unwrap_or(Dec::ZERO))?;
    let refund = if line.gone {
        let back = line.back.goods.amount();
        (
            Money::new(line.asked.amount(), bill.paid_in),
            owed.plus(back)?,
            back,
        )
    } else {
        (Money::new(asked.amount(), bill.paid_in), net, goods_again)
    };
    let each = then.back(net)?.over(Dec::from(line.quantity.max(1)))?;
    Ok(Returned {
        part: line.part.clone(),
        consignment: bill.id.clone(),
        bill: bill.clone(),
        reason,
        day,
        fault: row.fault,
        rate_day: latest.day,
        landed: Dec::total(lines.iter().map(|l| l.paid))?,
        refund,
        freight_back,
        freight_back_told: told,
        surely_back,
        possibly_back: total(Back::Possible)?,
        came_back,
        went_back: line.gone,
        resale: row.resale,
        card_cover: card_cover(jurisdiction, each, bill)?,
        warranty: row
            .warranty_months
            .map(|months| (months, bill.arrival.plus_months(months))),
        rules_known: jurisdiction.is_home(bill.dispatch.code())
            || !jurisdiction.law.refunds.is_empty(),
        lines,
    })
}

/// The price that comes back: what the seller asks, where that is what was paid; else what was paid,
/// without the part of a minor unit that the exchange leaves.
fn asked_back(
    line: &BillLine,
    net: Dec,
    bill: &Bill,
    (then, digits): (Rate, u32),
) -> Result<SellerMoney, Overflow> {
    let net = HomeMoney::of(net);
    if then.to_home(line.asked)?.minus(net)?.abs() <= HomeMoney::of(Dec::new(1, digits)) {
        return Ok(line.asked);
    }
    let paid = then.to_seller(net)?.amount();
    let whole = paid.round_to(bill.paid_in.digits(), Mode::Floor);
    Ok(SellerMoney::of(whole))
}

/// A sum paid at one rate comes back at another.
fn second_exchange(amount: Dec, then: Rate, now: Rate) -> Result<Dec, Overflow> {
    if then == now {
        Ok(amount)
    } else {
        now.convert(then.back(amount)?)
    }
}

/// Whether a sum is not over the least that is given back, each in its own money.
fn small(
    rule: &RefundRow,
    paid: Dec,
    bill: &Bill,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<bool, Diagnostic> {
    let Some(over) = rule.over else {
        return Ok(false);
    };
    let rate = jurisdiction
        .market_rate(
            rule.currency.unwrap_or(jurisdiction.currency()),
            bill.arrival.min(jurisdiction.ask.date),
        )?
        .rate;
    Ok(paid <= rate.convert(over)?)
}

/// Says the sum up to which nothing comes back.
fn not_above(rule: &RefundRow) -> String {
    match (rule.currency, rule.over) {
        (_, None) => String::new(),
        (None, Some(over)) => format!("only more than {over} is repaid. "),
        (Some(currency), Some(over)) => format!("only more than {over} {currency} is repaid. "),
    }
}

/// What becomes of a charge by its row, and whether the sum is too small for it.
fn back_line(
    charge: &'static str,
    paid: Dec,
    amount: Dec,
    rule: Option<(&Dated<RefundRow>, bool)>,
    bill: &Bill,
    day: Date,
) -> BackLine {
    let Some((rule, small)) = rule else {
        let text = "unknown, so not counted".to_owned();
        return BackLine {
            text,
            ..BackLine::lost_of(charge, paid)
        };
    };
    let until = rule.rule.last_day(bill.arrival);
    let late = until.is_some_and(|until| until < day);
    let back = if late || small {
        Back::No
    } else {
        rule.rule.back
    };
    let note = match until {
        Some(until) if late => format!("too late since {until}: "),
        _ if small => not_above(&rule.rule),
        _ => String::new(),
    };
    BackLine {
        charge,
        paid,
        back,
        amount: if back == Back::No { Dec::ZERO } else { amount },
        from: rule.rule.from.clone(),
        until,
        row: rule.stamp.row.to_string(),
        text: if note.ends_with(". ") {
            format!("{note}{}", words::capital(&rule.rule.text))
        } else {
            format!("{note}{}", rule.rule.text)
        },
        booked: false,
    }
}

impl BackLine {
    /// What does not come back, by no row.
    fn lost_of(charge: &'static str, paid: Dec) -> BackLine {
        let (amount, from, row, text) = (Dec::ZERO, String::new(), String::new(), String::new());
        BackLine {
            charge,
            paid,
            back: Back::No,
            amount,
            from,
            until: None,
            row,
            text,
            booked: false,
        }
    }

    /// What is left of a price that came back in full.
    fn lost_of_price(paid: Dec) -> BackLine {
        let text = "the price came back in full, less what was lost by exchange".to_owned();
        BackLine {
            text,
            ..BackLine::lost_of("goods", paid)
        }
    }
}

/// What came back already, charge by charge: of the price it may be more than was paid, by exchange.
fn booked(line: &BillLine) -> Result<Vec<BackLine>, Overflow> {
    let (a, b) = (&line.amounts, &line.back);
    let own_freight = a.freight.minus(line.sent_back)?.plus(b.freight)?;
    let goods = a.net_goods()?.plus(b.goods)?;
    let charges = [
        ("goods", b.goods, goods),
        ("freight", b.freight, own_freight),
        ("insurance", b.insurance, b.insurance),
        ("tax_at_sale", b.tax_at_sale, b.tax_at_sale),
        ("card_fee", b.card_fee, b.card_fee),
        ("duty", b.duty, b.duty),
        ("remedy", b.remedy, b.remedy),
        ("tax_at_border", b.tax_at_border, b.tax_at_border),
        ("handling", b.handling, b.handling),
    ];
    let one = |(charge, amount, paid): (&'static str, HomeMoney, HomeMoney)| BackLine {
        back: Back::Yes,
        amount: amount.amount(),
        row: "receipts.csv".to_owned(),
        booked: true,
        ..BackLine::lost_of(charge, paid.min(amount).amount())
    };
    Ok(charges
        .into_iter()
        .filter(|(_, amount, _)| !amount.is_zero())
        .map(one)
        .collect())
}

/// The row for a charge and a reason: the destination's before what holds everywhere, a reason's own before all.
fn rule<'a>(
    jurisdiction: &'a Jurisdiction<'_>,
    charge: &str,
    reason: Reason,
    day: Date,
) -> Option<&'a Dated<RefundRow>> {
    let fits = |row: &&Dated<RefundRow>| {
        row.rule.charge == charge
            && row.stamp.in_force(day)
            && row.rule.reason.is_none_or(|known| known == reason)
    };
    let best = |rows: &'a [Dated<RefundRow>]| {
        rows.iter()
            .filter(fits)
            .max_by_key(|row| row.rule.reason.is_some())
    };
    best(&jurisdiction.law.refunds).or_else(|| best(&jurisdiction.tables.refunds))
}

/// Whether the price of one, without delivery, lies within what the card's issuer answers for.
fn card_cover(
    jurisdiction: &Jurisdiction<'_>,
    price: Dec,
    bill: &Bill,
) -> Result<Option<(bool, String, String)>, Diagnostic> {
    let Some(row) = rule(jurisdiction, "card_cover", Reason::Faulty, bill.ordered) else {
        return Ok(None);
    };
    let currency = row.rule.currency.unwrap_or(jurisdiction.currency());
    let home = jurisdiction
        .market_rate(bill.paid_in, bill.ordered)?
        .rate
        .convert(price)?;
    let value = jurisdiction
        .market_rate(currency, bill.ordered)?
        .rate
        .back(home)?;
    let inside = row.rule.over.is_none_or(|over| value > over)
        && row.rule.up_to.is_none_or(|up_to| value <= up_to);
    Ok(Some((
        inside,
        row.stamp.row.to_string(),
        row.rule.text.clone(),
    )))
}
