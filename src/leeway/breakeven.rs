//! Where the overseas build stops being worth it: the exchange rate, freight or charge at which a complete bike, or the
//! offer of a part at home, costs the same.

use std::collections::BTreeMap;

use crate::book::{Bike, Book, Part, Role, Standing};
use crate::landed::{
    Bill, Change, Jurisdiction, WhatIf, bills_of, landed_rows, paid_instead, replacement_of,
    replacement_unknown,
};
use crate::text::Problems;
use crate::units::{Currency, Dec, HomeMoney, Mode};
use crate::value::bench::{Bench, build_rows};
use crate::value::bike::{as_order, is_abroad};
use crate::value::pieces;

/// What the build is held against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Against {
    /// A complete bike.
    Bike(String),
    /// The same part offered at home: the part and the seller.
    Offer(String, String),
}

/// What is moved until both cost the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Lever {
    /// One of this currency in the destination's money.
    Exchange(Currency),
    /// Freight of parcels from abroad, in the destination's money.
    Freight,
    /// Everything asked for at the door.
    Charges,
}

/// One place where both cost the same.
#[derive(Debug, Clone)]
pub(crate) struct Edge {
    /// What it is held against.
    pub(crate) against: Against,
    /// By how much the overseas way is cheaper now; below zero when it is dearer.
    pub(crate) margin: Dec,
    /// The levers: what is moved, where it is now, where both cost the same; none where that is not between a half and
    /// twice, or for freight and charges at no sum of zero or more.
    pub(crate) levers: Vec<(Lever, Dec, Option<Dec>)>,
}

/// All edges of a build.
#[derive(Debug, Clone, Default)]
pub(crate) struct BreakEven {
    /// The edges.
    pub(crate) edges: Vec<Edge>,
    /// The bikes, and the offers of parts, that are not held against the build, each with the reason.
    pub(crate) not_held: Vec<(String, String)>,
    /// Required places that nothing fills: against half a bike there is no verdict.
    pub(crate) empty: Vec<String>,
    /// Parts of which neither a price nor what was paid is known: the build costs more than is held against bikes.
    pub(crate) price_unknown: Vec<String>,
    /// Rows of tools, consumables, shop work and spares that no bike is held against.
    pub(crate) tools_left_out: usize,
}

/// Rows as they would be bought again, with nothing bought apart.
fn bought_today(rows: &[&Part]) -> Vec<Part> {
    let again = |row: &&Part| Part {
        standing: anew(row),
        parcel: String::new(),
        ..(*row).clone()
    };
    rows.iter().map(again).collect()
}

/// Finds the edges against every complete bike and every offer of a part at home. A bike from abroad is held against the build
/// by its own landed cost, which an exchange rate moves with the build's. Bikes are held against the rows that `compare` looks
/// at: tools, consumables, shop work and spares only with `with_tools`. A part is ordered with all that its parcel holds.
pub(crate) fn break_even(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    with_tools: bool,
) -> Result<BreakEven, Problems> {
    let whole: Vec<&Part> = book.build().collect();
    let rows = build_rows(book, jurisdiction, with_tools);
    let today = bought_today(&rows);
    let today: Vec<&Part> = today.iter().collect();
    let plain = Book {
        receipts: Vec::new(),
        parcels: Vec::new(),
        ..book.clone()
    };
    let bills = bills_of(&plain, &today, jurisdiction, true)?;
    let paid = paid_instead(&rows)?;
    let mut found = BreakEven {
        tools_left_out: whole.len() - rows.len(),
        empty: Bench::lay(&rows, jurisdiction).lacking(jurisdiction),
        price_unknown: unpriced(&rows),
        ..BreakEven::default()
    };
    for bike in &book.bikes {
        let rival = match Rival::new(bike, book, jurisdiction) {
            Ok(rival) => rival,
            Err(reason) => {
                found.not_held.push((bike.name.clone(), reason));
                continue;
            }
        };
        let dearer = |what_if: WhatIf| {
            let asks = rival.asks(&what_if, jurisdiction)?;
            replacement_of(book, &rows, &jurisdiction.supposing(what_if))?
                .plus(paid)?
                .minus(asks)
                .map_err(Problems::from)
        };
        found.edges.push(edge(
            Against::Bike(bike.name.clone()),
            jurisdiction,
            &bills.iter().collect::<Vec<_>>(),
            &dearer,
        )?);
    }
    let (edges, refused) = offers(book, &whole, jurisdiction)?;
    found.edges.extend(edges);
    found.not_held.extend(refused);
    Ok(found)
}

/// The parts of which neither a price to buy them again nor what was paid is known.
fn unpriced(rows: &[&Part]) -> Vec<String> {
    let unknown = replacement_unknown(rows);
    let open = |row: &&&Part| row.paid.is_none() && unknown.contains(&row.name);
    let open = rows.iter().filter(open);
    open.map(|row| row.name.clone()).collect()
}

/// What a complete bike costs on the doormat.
enum Rival {
    /// At home: its price, in the destination's money.
    Home(Dec),
    /// From abroad: the order of it.
    Abroad(Box<Book>),
}

impl Rival {
    /// The error is the reason why it cannot be said what the bike costs.
    fn new(bike: &Bike, book: &Book, jurisdiction: &Jurisdiction<'_>) -> Result<Rival, String> {
        let price = bike.price.ok_or("its price is unknown")?;
        if is_abroad(bike, book, jurisdiction) {
            let order = as_order(bike, book, jurisdiction)
                .ok_or("the tables do not say what a bicycle is to customs here")?;
            let rival = Rival::Abroad(Box::new(order));
            return match rival.asks(&WhatIf::default(), jurisdiction) {
                Ok(_) => Ok(rival),
                Err(problems) => Err(format!(
                    "what it lands at cannot be calculated: {}",
                    problems.joined()
                )),
            };
        }
        let quote = jurisdiction
            .market_rate(
                bike.currency.unwrap_or(jurisdiction.currency()),
                jurisdiction.ask.date,
            )
            .map_err(|problem| problem.message)?;
        let home = quote
            .rate
            .convert(price)
            .map_err(|overflow| overflow.to_string())?;
        Ok(Rival::Home(
            home.round_to(jurisdiction.currency().digits(), Mode::HalfUp),
        ))
    }

    /// What it costs under a supposition: its own freight and charges stay what they are, and its exchange is the build's.
    fn asks(&self, what_if: &WhatIf, jurisdiction: &Jurisdiction<'_>) -> Result<Dec, Problems> {
        match self {
            Rival::Home(price) => Ok(*price),
            Rival::Abroad(order) => {
                let moved = WhatIf {
                    exchange: what_if.exchange.clone(),
                    ..WhatIf::default()
                };
                landed_rows(
                    order,
                    &order.parts.iter().collect::<Vec<_>>(),
                    &jurisdiction.supposing(moved),
                )
            }
        }
    }
}

fn anew(row: &Part) -> Standing {
    if row.price.is_some() && row.standing != Standing::Bundled {
        Standing::ToOrder
    } else {
        row.standing
    }
}

/// What can be held against the build, and what cannot, each with the reason.
type Held = (Vec<Edge>, Vec<(String, String)>);

/// The rows with another offer in the place of one of them.
fn swapped<'a>(rows: &[&'a Part], own: &Part, rival: &'a Part) -> Vec<&'a Part> {
    let is_own = |row: &Part| row.at.place() == own.at.place();
    let one = |row: &&'a Part| if is_own(row) { rival } else { *row };
    rows.iter().map(one).collect()
}

/// Offers at home of parts that are to be ordered abroad.
fn offers(book: &Book, rows: &[&Part], jurisdiction: &Jurisdiction<'_>) -> Result<Held, Problems> {
    let at_home = |row: &Part| match row.seller.as_ref() {
        Some(name) => book
            .sellers
            .get(name)
            .and_then(|s| s.dispatch)
            .is_some_and(|from| jurisdiction.is_home(from.code())),
        None => true,
    };
    let bills = bills_of(book, rows, jurisdiction, true)?;
    let (mut edges, mut refused) = (Vec::new(), Vec::new());
    for rival in book
        .parts
        .iter()
        .filter(|row| row.role == Role::Rival && at_home(row) && row.price.is_some())
    {
        let Some(own) = rows.iter().find(|row| {
            row.name == rival.name && row.standing == Standing::ToOrder && !at_home(row)
        }) else {
            continue;
        };
        if let Some(why) = pieces::fewer(rival, book, jurisdiction) {
            refused.push((rival.name.clone(), why));
            continue;
        }
        let swapped = swapped(rows, own, rival);
        let dearer = |what_if: WhatIf| {
            let jurisdiction = jurisdiction.supposing(what_if);
            landed_rows(book, rows, &jurisdiction)?
                .minus(landed_rows(book, &swapped, &jurisdiction)?)
                .map_err(Problems::from)
        };
        let against = Against::Offer(
            rival.name.clone(),
            rival.seller.clone().unwrap_or_else(|| "at home".to_owned()),
        );
        let near: Vec<&Bill> = bills
            .iter()
            .filter(|b| {
                Some(&b.seller) == own.seller.as_ref() && b.lines.iter().any(|l| l.part == own.name)
            })
            .collect();
        edges.push(edge(against, jurisdiction, &near, &dearer)?);
    }
    Ok((edges, refused))
}

/// How far the rate of a currency can move before both ways cost the same.
fn exchange_lever(
    currency: Currency,
    jurisdiction: &Jurisdiction<'_>,
    dearer: &impl Fn(WhatIf) -> Result<Dec, Problems>,
) -> Result<(Lever, Dec, Option<Dec>), Problems> {
    let quote = jurisdiction.market_rate(currency, jurisdiction.ask.date)?;
    let now = quote.rate.convert(Dec::ONE)?;
    let factor = crossing(Dec::new(5, 1), Dec::from(2_u32), |factor| {
        dearer(WhatIf {
            exchange: BTreeMap::from([(currency, factor)]),
            ..WhatIf::default()
        })
    })?;
    let at = factor.map(|factor| now.times(factor)).transpose()?;
    Ok((Lever::Exchange(currency), now, at))
}

/// How far all freight from abroad can rise before both ways cost the same.
fn freight_lever(
    freight: Dec,
    ids: &[String],
    dearer: &impl Fn(WhatIf) -> Result<Dec, Problems>,
) -> Result<(Lever, Dec, Option<Dec>), Problems> {
    let factor = crossing(Dec::ZERO, Dec::from(20_u32), |factor| {
        let all = ids.iter().map(|id| (id.clone(), Change::Times(factor)));
        dearer(WhatIf {
            freight: all.collect(),
            ..WhatIf::default()
        })
    })?;
    let at = factor.map(|factor| freight.times(factor)).transpose()?;
    Ok((Lever::Freight, freight, at))
}

/// The levers of one comparison; `dearer` says by how much the overseas way is dearer under a supposition.
fn edge(
    against: Against,
    jurisdiction: &Jurisdiction<'_>,
    bills: &[&Bill],
    dearer: &impl Fn(WhatIf) -> Result<Dec, Problems>,
) -> Result<Edge, Problems> {
    let margin = dearer(WhatIf::default())?.negated();
    let mut levers = Vec::new();
    let foreign = || {
        bills
            .iter()
            .filter(|bill| !jurisdiction.is_home(bill.dispatch.code()))
    };
    let mut currencies: Vec<Currency> = foreign()
        .map(|bill| bill.paid_in)
        .filter(|c| *c != jurisdiction.currency())
        .collect();
    currencies.sort();
    currencies.dedup();
    for currency in currencies {
        levers.push(exchange_lever(currency, jurisdiction, dearer)?);
    }
    let freight = Dec::total(foreign().map(|bill| bill.amounts.freight.amount()))?;
    if freight.is_positive() {
        let ids: Vec<String> = foreign().map(|bill| bill.id.clone()).collect();
        levers.push(freight_lever(freight, &ids, dearer)?);
    }
    let charges = foreign()
        .map(|bill| bill.amounts.at_door())
        .collect::<Result<Vec<_>, _>>()
        .and_then(HomeMoney::total)?
        .amount();
    let at = charges.plus(margin)?;
    levers.push((Lever::Charges, charges, (!at.is_negative()).then_some(at)));
    Ok(Edge {
        against,
        margin,
        levers,
    })
}

/// The factor nearest to one at which a difference changes its sign, by halving on the exact engine: the last one at
/// which things are still as they are now, to a ten-thousandth.
fn crossing(
    least: Dec,
    most: Dec,
    dearer: impl Fn(Dec) -> Result<Dec, Problems>,
) -> Result<Option<Dec>, Problems> {
    let now = dearer(Dec::ONE)?.is_positive();
    let far = if now { least } else { most };
    let mut same = Dec::ONE;
    let mut other = far;
    if dearer(far)?.is_positive() == now {
        return Ok(None);
    }
    let step = Dec::new(5, 5);
    while other.minus(same)?.abs() > step {
        let middle = same
            .plus(other)
            .and_then(|both| both.over(Dec::from(2_u32)))?;
        if dearer(middle)?.is_positive() == now {
            same = middle;
        } else {
            other = middle;
        }
    }
    Ok(Some(same.round_to(
        5,
        if now { Mode::Ceiling } else { Mode::Floor },
    )))
}
