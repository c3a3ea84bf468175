//! `order` as one screen and as JSON: what to put into a seller's basket, which codes to type, what the checkout should show, what
//! is due at the door, and what to ask the seller first; or, of several sellers, how much each of them is to be paid.

use serde_json::{Value, json};

use super::cautions::{End, Warnings, cautions as cautions_json};
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::book::{Channel, Discount, Part, Pays, Scope};
use crate::landed::{Caution, Checkout, OLD_PRICE, Question};
use crate::text::words::{count, few};
use crate::units::{Currency, Overflow, SellerMoney, ShownMoney};

/// What only the seller can answer, and what is worth having in writing before the order.
const ASKED: [&str; 11] = [
    "origin-assumed",
    "preference-possible",
    "preference-without-origin",
    "duty-to-ask",
    "seller-takes-tax",
    "tax-over-limit",
    "duties-paid",
    "freight-unknown",
    "channel-assumed",
    "digits-unknown",
    "lithium",
];

/// What is to be ordered, and what is to be said of it.
pub(crate) struct OrderReport<'a> {
    /// The parcels that were asked for.
    pub(crate) orders: &'a [Checkout<'a>],
    /// The cautions of the whole build.
    pub(crate) cautions: &'a [Caution],
    /// Where to and when.
    pub(crate) ask: &'a Question,
    /// How many parcels of the book are to be ordered.
    pub(crate) of: usize,
}

/// The view of the parcels that are to be ordered.
pub(crate) fn order_view(report: &OrderReport<'_>, show: &Show) -> Result<View, Overflow> {
    let mut view = View::default();
    match report.orders {
        [] => nothing(&mut view),
        [only] => sheet(only, report, show, &mut view)?,
        several => overview(several, show, &mut view)?,
    }
    Ok(view)
}

/// Everything is ordered.
fn nothing(view: &mut View) {
    view.answer(
        "Nothing is to be ordered: no part of the build with a price has the standing `to-order`.",
    );
    view.say("");
    view.say("Next: `landwaiter cost` shows what is on its way and what is due at the door.");
}

/// An amount of the seller's money.
fn amount(amount: SellerMoney, currency: Currency) -> String {
    amount.amount().grouped(currency.digits())
}

/// What is paid to the seller of an order and at the door for it, in the money shown.
fn payments(order: &Checkout<'_>, show: &Show) -> Result<[ShownMoney; 2], Overflow> {
    let sums = [order.to_seller()?, order.bill.amounts.at_door()?];
    Ok([show.shown(sums[0])?, show.shown(sums[1])?])
}

/// How a parcel comes, in words.
fn carrier(order: &Checkout<'_>) -> &'static str {
    match order.bill.channel {
        Channel::Post => "the post",
        Channel::Courier => "the courier",
    }
}

/// Several parcels, one a line.
fn overview(orders: &[Checkout<'_>], show: &Show, view: &mut View) -> Result<(), Overflow> {
    let (mut sellers, mut door) = (ShownMoney::ZERO, ShownMoney::ZERO);
    for order in orders {
        let [seller, carrier] = payments(order, show)?;
        (sellers, door) = (sellers.plus(seller)?, door.plus(carrier)?);
    }
    let sent = orders.iter().filter(|order| !order.bill.seller.is_empty());
    view.answer(format!(
        "{} to order: {} to sellers, card fees included, and {} at the door.",
        count(sent.count(), "parcel", "parcels"),
        show.as_it_is().money(sellers),
        show.as_it_is().amount(door)
    ));
    let unknown = orders.iter().filter(|order| order.freight_unknown);
    let unknown: Vec<&str> = unknown.map(|order| order.bill.id.as_str()).collect();
    if !unknown.is_empty() {
        view.say(format!(
            "Shipping is not known, and in no sum, for {}.",
            few(&unknown)
        ));
    }
    let mut grid = Grid::new(
        "orders",
        &[
            "Parcel",
            "Checkout shows",
            "You pay",
            "At the door",
            "Arrives about",
        ],
    );
    for order in orders {
        let (bill, currency) = (&order.bill, order.bill.paid_in);
        let [seller, carrier] = payments(order, show)?.map(|sum| show.as_it_is().amount(sum));
        grid.rows.push(vec![
            Cell::text(&bill.id),
            Cell::number(format!("{} {currency}", amount(order.sums.total, currency))),
            Cell::number(seller),
            Cell::number(carrier),
            arrives(order).map_or(Cell::Empty, Cell::text),
        ]);
    }
    grid.foot = Some(vec![
        Cell::text("Together"),
        Cell::Empty,
        Cell::number(show.as_it_is().amount(sellers)),
        Cell::number(show.as_it_is().amount(door)),
        Cell::Empty,
    ]);
    view.table(grid);
    if let Some(day) = orders.first().map(|order| order.bill.ordered) {
        view.say(format!("Days are those of orders placed on {day}."));
    }
    let end = End {
        next: "`landwaiter order SELLER` for what to put into that seller's basket.",
        at_the_door: door.is_positive(),
    };
    Warnings::default().conclude("", &end, show, view);
    Ok(())
}

/// The order sheet of one parcel.
fn sheet(
    order: &Checkout<'_>,
    report: &OrderReport<'_>,
    show: &Show,
    view: &mut View,
) -> Result<(), Overflow> {
    let (bill, currency) = (&order.bill, order.bill.paid_in);
    let total = amount(order.sums.total, currency);
    view.answer(if order.freight_unknown {
        format!(
            "{}: the checkout should show {total} {currency} before shipping, which is not known.",
            bill.id
        )
    } else {
        format!("{}: the checkout should show {total} {currency}.", bill.id)
    });
    view.say(what_you_pay(order, show)?);
    view.table(basket(order, report));
    codes(order, view);
    view.table(checkout(order, show));
    beside(order, show, view)?;
    let own: Vec<Caution> = asked(order);
    let warnings = Warnings::of(&own, show);
    let mut evidence = Warnings::default();
    let names = untested(order, report);
    if !names.is_empty() {
        evidence.costs_nothing(
            format!(
                "Ask for the test report (ISO 4210 part, laboratory, date) of {}.",
                few(&names)
            ),
            "evidence",
        );
    }
    evidence.join(warnings);
    let next = if bill.seller.is_empty() {
        "when you have bought it, write `in-hand` under `standing` and what you paid under `paid`."
            .to_owned()
    } else {
        format!(
            "when it is ordered, `landwaiter order \"{}\" --placed --paid AMOUNT` writes it down.",
            bill.id
        )
    };
    let end = End {
        next: &next,
        at_the_door: bill.amounts.at_door()?.is_positive(),
    };
    evidence.conclude("Ask first, in writing", &end, show, view);
    Ok(())
}

/// What leaves the account now, and what follows at the door.
fn what_you_pay(order: &Checkout<'_>, show: &Show) -> Result<String, Overflow> {
    let amounts = &order.bill.amounts;
    let paid = if amounts.card_fee.is_zero() {
        format!("You pay {}", show.money(order.to_seller()?))
    } else {
        format!(
            "You pay {} with the card fee of {}",
            show.money(order.to_seller()?),
            show.amount(amounts.card_fee)
        )
    };
    let door = amounts.at_door()?;
    let day = arrives(order).map_or_else(String::new, |day| {
        format!(", about {day} if it is ordered on {}", order.bill.ordered)
    });
    let disputed = order
        .bill
        .amounts
        .landed()?
        .minus(order.bill.landed_undisputed)?;
    let disputed = if disputed.is_positive() {
        format!(
            " Of the whole, {} is disputed and may not be charged; `landwaiter cost` says why.",
            show.amount(disputed)
        )
    } else {
        String::new()
    };
    Ok(if door.is_zero() {
        format!("{paid}; nothing is due at the door{day}.{disputed}")
    } else {
        let (door, carrier) = (show.amount(door), carrier(order));
        format!("{paid}, and {door} to {carrier} at the door{day}.{disputed}")
    })
}

/// About when a parcel comes; none where nobody has said how long it is on its way.
fn arrives(order: &Checkout<'_>) -> Option<String> {
    let bill = &order.bill;
    (bill.arrival > bill.ordered).then(|| bill.arrival.to_string())
}

/// What goes into the basket.
fn basket(order: &Checkout<'_>, report: &OrderReport<'_>) -> Grid {
    let currency = order.bill.paid_in;
    let each = format!("Each, {currency}");
    let mut grid = Grid::new("basket", &["Basket", "Pieces", &each, "Price seen"]);
    for part in &order.basket {
        let price = part
            .price
            .map_or_else(String::new, |price| price.grouped(currency.digits()));
        grid.rows.push(vec![
            Cell::text(&part.name),
            Cell::number(part.quantity.to_string()),
            Cell::number(price),
            Cell::text(seen(part, report)),
        ]);
    }
    grid
}

/// When a price was seen, and whether that is too long ago.
fn seen(part: &Part, report: &OrderReport<'_>) -> String {
    let Some(day) = part.seen else {
        return "not noted: check it".to_owned();
    };
    let age = report.ask.date.days_since(day);
    if age > OLD_PRICE {
        format!("{day}, {age} days ago: check it")
    } else {
        day.to_string()
    }
}

/// The codes to type, in their order.
fn codes(order: &Checkout<'_>, view: &mut View) {
    if order.codes.is_empty() {
        return;
    }
    view.head("Codes to enter, in this order");
    let currency = order.bill.paid_in;
    let line = |(code, takes): &(&Discount, SellerMoney)| {
        let off = match (code.scope, &code.part) {
            (Scope::Freight, _) => "off shipping".to_owned(),
            (_, Some(part)) => format!("off {part}"),
            (_, None) => "off the basket".to_owned(),
        };
        let takes = amount(*takes, currency);
        let off = if code.pays == Pays::Credit {
            "of credit".to_owned()
        } else {
            off
        };
        format!("{}: {takes} {currency} {off}", code.code)
    };
    view.notes(order.codes.iter().map(line).collect());
}

/// The sums that the checkout should show.
fn checkout(order: &Checkout<'_>, show: &Show) -> Grid {
    let (sums, currency) = (&order.sums, order.bill.paid_in);
    let mut grid = Grid::new("checkout", &["Checkout", currency.code()]);
    let tax = format!("{} taken by the seller", show.tax());
    let goods = order.own_tax.map_or_else(
        || "Goods".to_owned(),
        |percent| format!("Goods without {percent} tax"),
    );
    let lines = [
        (goods.as_str(), sums.goods, true),
        ("Codes", sums.off.negated(), false),
        ("Credit and points", sums.credit.negated(), false),
        ("Shipping", sums.freight, !order.freight_unknown),
        ("Insurance", sums.insurance, false),
        (tax.as_str(), sums.tax, false),
    ];
    for (name, sum, always) in lines {
        if always || !sum.is_zero() {
            grid.rows
                .push(vec![Cell::text(name), Cell::number(amount(sum, currency))]);
        }
    }
    if order.freight_unknown {
        grid.rows
            .push(vec![Cell::text("Shipping"), Cell::text("not known")]);
    }
    grid.foot = Some(vec![
        Cell::text("Total"),
        Cell::number(amount(sums.total, currency)),
    ]);
    grid
}

/// The same total as a checkout may show it on another of its pages, and a tax that must not be in it.
fn beside(order: &Checkout<'_>, show: &Show, view: &mut View) -> Result<(), Overflow> {
    let (sums, currency) = (&order.sums, order.bill.paid_in);
    let without_shipping = amount(sums.without_shipping()?, currency);
    let mut said = format!("Before shipping is chosen it shows {without_shipping} {currency}");
    if !sums.tax.is_zero() {
        let untaxed = amount(sums.untaxed()?, currency);
        said.push_str(&format!("; before {} is added, {untaxed}", show.tax()));
    }
    view.say(format!("{said}."));
    if let Some(percent) = order.own_tax {
        view.say(format!(
            "The prices in the shop hold {percent} tax of the seller's country, which comes off for export: if the checkout keeps it, ask before you pay."
        ));
    }
    Ok(())
}

/// The cautions about a parcel that its seller can answer.
fn asked(order: &Checkout<'_>) -> Vec<Caution> {
    let own = order.bill.cautions.iter();
    own.filter(|caution| ASKED.contains(&caution.id))
        .cloned()
        .collect()
}

/// The parts of a parcel for which no test report is noted.
fn untested<'o>(order: &'o Checkout<'_>, report: &OrderReport<'_>) -> Vec<&'o str> {
    let named = |name: &str| {
        let evidence = report.cautions.iter().filter(|c| c.id == "evidence");
        evidence.flat_map(|c| &c.about).any(|about| about == name)
    };
    let own = order.basket.iter().map(|part| part.name.as_str());
    own.filter(|name| named(name)).collect()
}

/// What is to be ordered, for programs.
pub(crate) fn order_json(
    report: &OrderReport<'_>,
    show: &Show,
    tables: Value,
) -> Result<Value, Overflow> {
    let orders: Vec<Value> = report
        .orders
        .iter()
        .map(|order| one_json(order, report, show))
        .collect::<Result<_, _>>()?;
    Ok(json!({
        "format": "landwaiter.order/1",
        "destination": report.ask.to.to_string(),
        "currency": show.currency.code(),
        "date": report.ask.date.to_string(),
        "tables": tables,
        "to_order": report.of,
        "orders": orders,
    }))
}

fn one_json(
    order: &Checkout<'_>,
    report: &OrderReport<'_>,
    show: &Show,
) -> Result<Value, Overflow> {
    let (bill, sums, currency) = (&order.bill, &order.sums, order.bill.paid_in);
    let money = |sum: SellerMoney| sum.amount().fixed(currency.digits());
    let basket: Vec<Value> = order
        .basket
        .iter()
        .map(|part| {
            json!({
                "part": part.name, "quantity": part.quantity,
                "price": part.price.map(|price| price.to_string()),
                "seen": part.seen.map(|day| day.to_string()),
            })
        })
        .collect();
    let codes: Vec<Value> = order
        .codes
        .iter()
        .map(|(code, takes)| json!({ "code": code.code, "takes": money(*takes) }))
        .collect();
    let own = asked(order);
    Ok(json!({
        "id": bill.id, "seller": bill.seller, "currency": currency.code(),
        "basket": basket, "codes": codes,
        "goods": money(sums.goods), "codes_take": money(sums.off), "credit": money(sums.credit),
        "freight": money(sums.freight), "insurance": money(sums.insurance), "tax": money(sums.tax),
        "total": money(sums.total),
        "before_tax": money(sums.untaxed()?), "before_shipping": money(sums.without_shipping()?),
        "own_tax_percent": order.own_tax.map(|percent| percent.0.to_string()),
        "converted": show.exact(order.converted()?), "card_fee": show.exact(bill.amounts.card_fee),
        "freight_unknown": order.freight_unknown,
        "to_pay_seller": show.exact(order.to_seller()?),
        "to_pay_carrier": show.exact(bill.amounts.at_door()?),
        "arrival": bill.arrival.to_string(),
        "ask": cautions_json(&own),
        "without_report": untested(order, report),
    }))
}
