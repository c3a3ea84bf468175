//! Books made up at random: sellers, parcels, parts and discounts as their tables would be typed, and what comes of them.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::sync::OnceLock;

use landwaiter::Question;
use landwaiter::book::{Book, BookFile};
use landwaiter::landed::{Bill, ChargeBreakdown, Landed};
use landwaiter::tables::Tables;
use landwaiter::text::{Problems, draw};
use landwaiter::units::{Currency, Date, Dec};

use crate::abroad;
use crate::kit::cost;
use proptest::prelude::*;
use proptest::sample::select;

/// A schedule of our own, so that freight by mass is tried too.
const SCHEDULES: &str =
    "schedule,up_to_g,price,currency,extra_per_kg,packing_percent,packing_g,valid_from
box,500,9.90,USD,,8,120,2020-01-01
box,2000,19.90,USD,,8,120,2020-01-01
box,10000,44.00,USD,7.50,8,120,2020-01-01
";

/// All tables, read once.
pub(super) fn tables() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| abroad::tables(&[("freight.csv", SCHEDULES)]))
}

/// Places of a road bike, workshop and all.
fn places() -> &'static [String] {
    static PLACES: OnceLock<Vec<String>> = OnceLock::new();
    PLACES.get_or_init(|| {
        tables()
            .places_of("road")
            .iter()
            .map(|row| row.rule.place.clone())
            .collect()
    })
}

/// A table as it is typed: its name, its header, its rows.
#[derive(Debug, Clone)]
pub(super) struct Typed {
    pub(super) table: &'static str,
    pub(super) header: Vec<&'static str>,
    pub(super) rows: Vec<Vec<String>>,
}

/// How a program saves tables.
#[derive(Debug, Clone, Copy)]
pub(super) struct Saved {
    pub(super) separator: char,
    pub(super) line_end: &'static str,
    pub(super) mark: bool,
    pub(super) wide: bool,
    pub(super) decimal_comma: bool,
    pub(super) notes: bool,
}

/// Commas, points and line feeds.
pub(super) const PLAIN: Saved = Saved {
    separator: ',',
    line_end: "\n",
    mark: false,
    wide: false,
    decimal_comma: false,
    notes: false,
};

/// Columns whose cells hold figures with a decimal point.
const FIGURES: [&str; 14] = [
    "price",
    "paid",
    "mass_g",
    "packed_g",
    "freight",
    "insurance",
    "free_freight_over",
    "prices_include",
    "handling",
    "percent",
    "amount",
    "max_off",
    "min_spend",
    "value",
];

impl Typed {
    /// The file's bytes.
    pub(super) fn bytes(&self, saved: Saved) -> Vec<u8> {
        let mut text = String::new();
        let note = |text: &mut String| {
            if saved.notes {
                write!(text, "# a note, with; marks{}", saved.line_end).unwrap();
            }
        };
        note(&mut text);
        let mark = saved.separator.to_string();
        write!(text, "{}{}", self.header.join(&mark), saved.line_end).unwrap();
        for row in &self.rows {
            note(&mut text);
            let cells = row.iter().zip(&self.header).map(|(cell, column)| {
                let figure = FIGURES.contains(column)
                    && cell.starts_with(|c: char| c.is_ascii_digit())
                    && !cell.contains('-');
                let cell = if figure && saved.decimal_comma {
                    cell.replace('.', ",")
                } else {
                    cell.clone()
                };
                if cell.contains([saved.separator, '"']) {
                    format!("\"{}\"", cell.replace('"', "\"\""))
                } else {
                    cell
                }
            });
            write!(
                text,
                "{}{}",
                cells.collect::<Vec<_>>().join(&mark),
                saved.line_end
            )
            .unwrap();
        }
        if saved.wide {
            let units = std::iter::once(0xFEFF).chain(text.encode_utf16());
            return units.flat_map(u16::to_le_bytes).collect();
        }
        if saved.mark {
            [b"\xEF\xBB\xBF", text.as_bytes()].concat()
        } else {
            text.into_bytes()
        }
    }
}

/// The files of a book.
pub(super) fn files(typed: &[Typed], saved: Saved) -> Vec<BookFile> {
    let file = |t: &Typed| BookFile {
        path: format!("{}.csv", t.table),
        table: t.table.to_owned(),
        bytes: t.bytes(saved),
    };
    typed.iter().map(file).collect()
}

/// Reads a book and calculates it; what refused it, as text.
pub(super) fn calculate(files: &[BookFile]) -> Result<Landed, String> {
    asked(files).map(|(_, landed)| landed)
}

/// The same, with the question that the book asks.
fn asked(files: &[BookFile]) -> Result<(Question, Landed), String> {
    let mut problems = Problems::new();
    let book = Book::read(files, &mut problems);
    if problems.refuse() {
        return Err(draw(&problems, false));
    }
    let today = Date::new(2026, 3, 2).unwrap();
    let ask = Question::new(&book.settings, today).map_err(|problem| problem.message)?;
    match cost(&book, tables(), &ask) {
        Ok(landed) => Ok((ask, landed)),
        Err(problems) => Err(draw(&problems, false)),
    }
}

/// Calculates a book that must be taken.
pub(super) fn landed(shelf: &Shelf) -> Landed {
    landed_as_asked(shelf).1
}

/// The same, with the question that the book asks.
pub(super) fn landed_as_asked(shelf: &Shelf) -> (Question, Landed) {
    let typed = shelf.typed();
    asked(&files(&typed, PLAIN)).unwrap_or_else(|refused| panic!("{refused}\n{typed:#?}"))
}

/// One part of one seller.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub(super) place: usize,
    /// In minor units of the seller's money.
    pub(super) price: i64,
    pub(super) quantity: u32,
    /// In tenths of grams.
    pub(super) mass: Option<u32>,
    pub(super) packed: Option<u32>,
    pub(super) origin: Option<&'static str>,
    pub(super) preference: bool,
    pub(super) raw: bool,
    /// 0 to order, 1 on order, 2 in hand.
    pub(super) label: usize,
    /// In pence.
    pub(super) paid: Option<i64>,
}

/// One seller.
#[derive(Debug, Clone)]
pub(super) struct Shop {
    pub(super) dispatch: &'static str,
    pub(super) currency: &'static str,
    pub(super) sender: &'static str,
    pub(super) freight: String,
    pub(super) free_over: Option<i64>,
    pub(super) insurance: &'static str,
    pub(super) collects: &'static str,
    pub(super) includes: &'static str,
    pub(super) terms: &'static str,
    pub(super) channel: &'static str,
    pub(super) handling: &'static str,
    pub(super) transit: Option<u32>,
    pub(super) items: Vec<Item>,
    pub(super) codes: Vec<Code>,
}

/// One discount.
#[derive(Debug, Clone)]
pub(super) struct Code {
    pub(super) name: &'static str,
    pub(super) scope: &'static str,
    pub(super) item: usize,
    /// Tenths of a percent, or minor units.
    pub(super) worth: Result<u32, i64>,
    pub(super) max_off: Option<i64>,
    pub(super) min_spend: Option<i64>,
    pub(super) order: u32,
    pub(super) group: &'static str,
    pub(super) credit: bool,
    pub(super) until: Option<u32>,
}

/// A whole book.
#[derive(Debug, Clone)]
pub(super) struct Shelf {
    pub(super) day: u32,
    pub(super) card_fee: &'static str,
    pub(super) remedies: &'static str,
    pub(super) shops: Vec<Shop>,
    /// Bought at home: place and pence.
    pub(super) home: Vec<(usize, i64)>,
    /// In hand with what was paid, or given.
    pub(super) held: Vec<(usize, Option<i64>)>,
}

const LABELS: [(&str, &str); 3] = [("", "to-order"), ("late", "on-order"), ("old", "in-hand")];

/// A day between 2025-02-25 and 2026-10-30.
pub(super) fn day(number: u32) -> Date {
    Date::new(2025, 2, 25).unwrap().plus_days(number)
}

impl Shop {
    pub(super) fn digits(&self) -> u32 {
        Currency::parse(self.currency).unwrap().digits()
    }

    /// Minor units as typed.
    pub(super) fn money(&self, units: i64) -> String {
        Dec::new(units, self.digits()).fixed(self.digits())
    }

    /// An amount as this seller's money has decimals; schedules and percentages as they stand.
    fn amount(&self, text: &str) -> String {
        let whole = text
            .split_once('.')
            .filter(|_| self.digits() == 0 && !text.ends_with('%'));
        whole.map_or(text, |(whole, _)| whole).to_owned()
    }

    fn gift(&self) -> bool {
        self.sender == "gift"
    }
}

impl Shelf {
    /// The tables of the book.
    pub(super) fn typed(&self) -> Vec<Typed> {
        vec![
            self.settings(),
            self.parts(),
            self.sellers(),
            self.parcels(),
            self.discounts(),
        ]
    }

    fn settings(&self) -> Typed {
        let row = |name: &str, value: &str| vec![name.to_owned(), value.to_owned()];
        let mut rows = vec![
            row("destination", "GB"),
            row("date", &day(self.day).to_string()),
            row("kind", "road"),
        ];
        if !self.card_fee.is_empty() {
            rows.push(row("card_fee", self.card_fee));
        }
        if !self.remedies.is_empty() {
            rows.push(row("remedies", self.remedies));
        }
        Typed {
            table: "settings",
            header: vec!["setting", "value"],
            rows,
        }
    }

    #[expect(clippy::too_many_lines, reason = "one book is told in one piece")]
    fn parts(&self) -> Typed {
        let header = vec![
            "part",
            "place",
            "seller",
            "price",
            "currency",
            "quantity",
            "standing",
            "parcel",
            "paid",
            "mass_g",
            "packed_g",
            "origin",
            "preference",
            "traits",
        ];
        let place = |at: usize| places()[at % places().len()].clone();
        let mut rows = Vec::new();
        for (at, shop) in self.shops.iter().enumerate() {
            for (number, item) in shop.items.iter().enumerate() {
                let (label, standing) = if shop.gift() {
                    ("", "given")
                } else {
                    LABELS[item.label % 3]
                };
                let tenths = |mass: Option<u32>| {
                    mass.map(|m| Dec::new(i64::from(m), 1).to_string())
                        .unwrap_or_default()
                };
                let paid = item
                    .paid
                    .filter(|_| standing == "on-order" || standing == "in-hand");
                rows.push(vec![
                    part(at, number),
                    place(item.place),
                    seller(at),
                    shop.money(item.price),
                    shop.currency.to_owned(),
                    item.quantity.to_string(),
                    standing.to_owned(),
                    label.to_owned(),
                    paid.map(|p| Dec::new(p, 2).fixed(2)).unwrap_or_default(),
                    tenths(item.mass),
                    tenths(item.packed),
                    item.origin.unwrap_or("").to_owned(),
                    if item.preference && item.origin.is_some() {
                        "yes"
                    } else {
                        ""
                    }
                    .to_owned(),
                    if item.raw {
                        "finish=raw + material=steel"
                    } else {
                        ""
                    }
                    .to_owned(),
                ]);
            }
        }
        let mut plain =
            |name: String, at: usize, price: &str, currency: &str, standing: &str, paid: &str| {
                let mut row = vec![String::new(); header.len()];
                for (column, text) in [
                    (0, name.as_str()),
                    (1, &place(at)),
                    (3, price),
                    (4, currency),
                    (6, standing),
                    (8, paid),
                ] {
                    text.clone_into(&mut row[column]);
                }
                rows.push(row);
            };
        for (number, (at, pence)) in self.home.iter().enumerate() {
            plain(
                format!("home {number:02}"),
                *at,
                &Dec::new(*pence, 2).fixed(2),
                "GBP",
                "",
                "",
            );
        }
        for (number, (at, paid)) in self.held.iter().enumerate() {
            let paid = paid.map(|p| Dec::new(p, 2).fixed(2));
            let standing = if paid.is_some() { "in-hand" } else { "given" };
            plain(
                format!("held {number:02}"),
                *at,
                "",
                "",
                standing,
                paid.as_deref().unwrap_or(""),
            );
        }
        Typed {
            table: "parts",
            header,
            rows,
        }
    }

    fn sellers(&self) -> Typed {
        let header = vec![
            "seller",
            "dispatch",
            "currency",
            "sender",
            "freight",
            "free_freight_over",
            "insurance",
            "collects_tax",
            "prices_include",
            "terms",
            "channel",
            "handling",
            "transit_days",
        ];
        let row = |(at, shop): (usize, &Shop)| {
            vec![
                seller(at),
                shop.dispatch.to_owned(),
                shop.currency.to_owned(),
                shop.sender.to_owned(),
                shop.amount(&shop.freight),
                shop.free_over
                    .map(|over| shop.money(over))
                    .unwrap_or_default(),
                shop.amount(shop.insurance),
                shop.collects.to_owned(),
                shop.includes.to_owned(),
                shop.terms.to_owned(),
                shop.channel.to_owned(),
                shop.handling.to_owned(),
                shop.transit
                    .map(|days| days.to_string())
                    .unwrap_or_default(),
            ]
        };
        Typed {
            table: "sellers",
            header,
            rows: self.shops.iter().enumerate().map(row).collect(),
        }
    }

    fn parcels(&self) -> Typed {
        let header = vec![
            "seller", "parcel", "ordered", "arrived", "channel", "freight",
        ];
        let mut rows = Vec::new();
        for (at, shop) in self
            .shops
            .iter()
            .enumerate()
            .filter(|(_, shop)| !shop.gift())
        {
            for (label, days) in [(1, 9), (2, 20)] {
                if shop.items.iter().any(|item| item.label == label) {
                    let ordered = day(self.day).minus_days(days);
                    let arrived = if label == 2 {
                        ordered.plus_days(6).to_string()
                    } else {
                        String::new()
                    };
                    let freight = if label == 2 { "12" } else { "" };
                    let cells = [
                        &seller(at),
                        LABELS[label].0,
                        &ordered.to_string(),
                        &arrived,
                        "",
                        freight,
                    ];
                    rows.push(cells.map(str::to_owned).to_vec());
                }
            }
        }
        Typed {
            table: "parcels",
            header,
            rows,
        }
    }

    fn discounts(&self) -> Typed {
        let header = vec![
            "code",
            "seller",
            "scope",
            "part",
            "percent",
            "amount",
            "currency",
            "max_off",
            "min_spend",
            "order",
            "group",
            "pays",
            "valid_to",
        ];
        let mut rows = Vec::new();
        for (at, shop) in self.shops.iter().enumerate() {
            for code in &shop.codes {
                let money = |units: Option<i64>| units.map(|u| shop.money(u)).unwrap_or_default();
                let item = if code.scope == "item" {
                    part(at, code.item % shop.items.len())
                } else {
                    String::new()
                };
                rows.push(vec![
                    code.name.to_owned(),
                    seller(at),
                    code.scope.to_owned(),
                    item,
                    code.worth
                        .map(|tenths| Dec::new(i64::from(tenths), 1).to_string())
                        .unwrap_or_default(),
                    money(code.worth.err()),
                    shop.currency.to_owned(),
                    money(code.max_off),
                    money(code.min_spend),
                    code.order.to_string(),
                    code.group.to_owned(),
                    if code.credit { "credit" } else { "" }.to_owned(),
                    code.until.map(|n| day(n).to_string()).unwrap_or_default(),
                ]);
            }
        }
        Typed {
            table: "discounts",
            header,
            rows,
        }
    }
}

pub(super) fn seller(at: usize) -> String {
    format!(
        "Seller {}",
        ["Alder", "Birch", "Cedar", "Doum", "Elm"][at % 5]
    )
}

pub(super) fn part(shop: usize, number: usize) -> String {
    format!("part {shop}{number:02}")
}

/// Prices as people pay them, and a few far beyond; forty of the dearest are still within what one row may come to.
fn price() -> impl Strategy<Value = i64> {
    prop_oneof![8 => 0..=30_000_i64, 4 => 100..=150_000_i64, 1 => Just(13_500_i64), 1 => 0..=2_000_000_i64]
}

fn item() -> impl Strategy<Value = Item> {
    let mass = || proptest::option::weighted(0.7, 10..=25_000_u32);
    let origin = proptest::option::of(select(vec!["TW", "CN", "JP", "DE", "VN", "US"]));
    let label = prop_oneof![6 => Just(0_usize), 1 => Just(1_usize), 1 => Just(2_usize)];
    let quantity = prop_oneof![5 => 1..=4_u32, 1 => 5..=40_u32];
    let paid = proptest::option::weighted(0.2, 0..=90_000_i64);
    (
        0..500_usize,
        price(),
        quantity,
        mass(),
        proptest::option::weighted(0.1, 10..=25_000_u32),
        origin,
        any::<bool>(),
        any::<bool>(),
        label,
        paid,
    )
        .prop_map(
            |(place, price, quantity, mass, packed, origin, preference, raw, label, paid)| Item {
                place,
                price,
                quantity,
                mass,
                packed,
                origin,
                preference,
                raw,
                label,
                paid,
            },
        )
}

fn code() -> impl Strategy<Value = Code> {
    let worth = prop_oneof![3 => (1..=1000_u32).prop_map(Ok), 2 => (0..=20_000_i64).prop_map(Err)];
    let some = |chance: f64, most: i64| proptest::option::weighted(chance, 0..=most);
    (
        select(vec!["SAVE", "SPRING", "THANKS"]),
        select(vec!["item", "item", "basket", "basket", "freight"]),
        0..6_usize,
        worth,
        some(0.3, 9_000),
        some(0.3, 90_000),
        0..3_u32,
        select(vec!["", "", "one", "two"]),
        any::<bool>(),
        proptest::option::weighted(0.2, 0..=600_u32),
    )
        .prop_map(
            |(name, scope, item, worth, max_off, min_spend, order, group, credit, until)| Code {
                name,
                scope,
                item,
                worth,
                max_off,
                min_spend,
                order,
                group,
                credit,
                until,
            },
        )
}

fn terms_of_shop() -> impl Strategy<Value = Shop> {
    let freight = select(vec!["", "0", "5", "18", "42", "box", "box"]);
    (
        select(vec!["TW", "CN", "US", "DE", "JP", "GB"]),
        select(vec!["USD", "EUR", "GBP", "JPY", "CHF", "SEK", "KRW"]),
        select(vec!["", "business", "marketplace", "private", "gift"]),
        freight,
        proptest::option::weighted(0.3, 1_000..=60_000_i64),
        select(vec!["", "", "4", "1.5 %"]),
        select(vec!["", "yes", "no"]),
        select(vec!["", "", "", "sale-tax", "19", "7.7"]),
        select(vec!["", "", "", "DAP", "DDP"]),
        select(vec!["", "post", "courier"]),
        select(vec!["", "", "12.00", "2.5 % min 12.50"]),
        proptest::option::of(0..=35_u32),
    )
        .prop_map(
            |(
                dispatch,
                currency,
                sender,
                freight,
                free_over,
                insurance,
                collects,
                includes,
                terms,
                channel,
                handling,
                transit,
            )| Shop {
                dispatch,
                currency,
                sender,
                freight: freight.to_owned(),
                free_over,
                insurance,
                collects,
                includes,
                terms,
                channel,
                handling,
                transit,
                items: Vec::new(),
                codes: Vec::new(),
            },
        )
}

pub(super) fn shop() -> impl Strategy<Value = Shop> {
    let items = proptest::collection::vec(item(), 1..6);
    let codes = proptest::collection::vec(code(), 0..5);
    (terms_of_shop(), items, codes).prop_map(|(shop, items, codes)| Shop {
        items,
        codes,
        ..shop
    })
}

/// Books of up to four sellers.
pub(super) fn shelf() -> impl Strategy<Value = Shelf> {
    (
        0..=612_u32,
        select(vec!["", "0", "2.75"]),
        select(vec!["", "", "count", "show"]),
        proptest::collection::vec(shop(), 1..5),
        proptest::collection::vec((0..500_usize, 0..=40_000_i64), 0..3),
        proptest::collection::vec((0..500_usize, proptest::option::of(0..=40_000_i64)), 0..3),
    )
        .prop_map(|(day, card_fee, remedies, shops, home, held)| Shelf {
            day,
            card_fee,
            remedies,
            shops,
            home,
            held,
        })
}

/// A book of one seller who is paid in pounds and sends, untouched by discounts, from Taiwan to Great Britain.
pub(super) fn simple(prices: &[(usize, i64, u32)], freight: i64) -> Shelf {
    let items = prices.iter().map(|(place, price, quantity)| Item {
        place: *place,
        price: *price,
        quantity: *quantity,
        mass: Some(5_000),
        packed: None,
        origin: Some("TW"),
        preference: false,
        raw: false,
        label: 0,
        paid: None,
    });
    let shop = Shop {
        dispatch: "TW",
        currency: "GBP",
        sender: "business",
        freight: Dec::new(freight, 2).fixed(2),
        free_over: None,
        insurance: "",
        collects: "yes",
        includes: "",
        terms: "",
        channel: "courier",
        handling: "",
        transit: Some(5),
        items: items.collect(),
        codes: Vec::new(),
    };
    Shelf {
        day: 200,
        card_fee: "0",
        remedies: "",
        shops: vec![shop],
        home: Vec::new(),
        held: Vec::new(),
    }
}

/// All that a run says, without the lines of the book it was read from and without any order.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Said {
    bills: BTreeMap<String, (ChargeBreakdown, ChargeBreakdown, String)>,
    lines: BTreeMap<(String, String), (ChargeBreakdown, String)>,
    limits: BTreeSet<String>,
    trail: Vec<String>,
    cautions: BTreeSet<String>,
    totals: String,
}

/// What a run says.
pub(super) fn said(landed: &Landed) -> Said {
    let mut said = Said {
        bills: BTreeMap::new(),
        lines: BTreeMap::new(),
        limits: BTreeSet::new(),
        trail: Vec::new(),
        cautions: BTreeSet::new(),
        totals: totals(landed),
    };
    for bill in &landed.bills {
        said.bills
            .insert(bill.id.clone(), (bill.amounts, bill.in_price, facts(bill)));
        for line in &bill.lines {
            let about = format!(
                "{} {} {} {:?}",
                line.quantity, line.commodity, line.origin, line.places
            );
            said.lines
                .insert((bill.id.clone(), line.part.clone()), (line.amounts, about));
        }
        said.limits.extend(
            bill.limits
                .iter()
                .map(|limit| format!("{} {limit:?}", bill.id)),
        );
        // where a row of the book stands is what these books differ in; how many are named is held
        let own = |row: &landwaiter::tables::RowRef| {
            if row.path.starts_with("rates/") {
                row.to_string()
            } else {
                String::new()
            }
        };
        said.trail.extend(bill.trail.iter().map(|step| {
            let row = step.row.as_ref().map(own).unwrap_or_default();
            let rate_rows: Vec<String> = step.rate_rows.iter().map(own).collect();
            format!(
                "{} {} {row} {rate_rows:?} {} {:?}",
                bill.id, step.id, step.text, step.amount
            )
        }));
    }
    said.cautions.extend(landed.cautions.iter().map(|caution| {
        let about: BTreeSet<&String> = caution.about.iter().collect();
        format!("{} {} {about:?}", caution.id, caution.text)
    }));
    said
}

fn facts(bill: &Bill) -> String {
    let gaps: BTreeSet<&String> = bill.gaps.iter().collect();
    format!(
        "{:?} {} {} {} {} {} {} {} {:?} {:?} {gaps:?}",
        bill.kind,
        bill.ordered,
        bill.arrival,
        bill.mass,
        bill.seller_sum.amount(),
        bill.intrinsic_value,
        bill.customs_value,
        bill.tax_collected,
        bill.landed_undisputed,
        bill.disputed,
    )
}

fn totals(landed: &Landed) -> String {
    let held: Vec<String> = landed
        .held
        .iter()
        .map(|h| format!("{} {:?} {:?}", h.part, h.paid, h.given))
        .collect();
    let open: BTreeSet<&String> = landed.open.iter().collect();
    let mut totals = landed.totals.clone();
    for names in [
        &mut totals.replacement_unknown,
        &mut totals.paid_unknown,
        &mut totals.mass_unknown,
    ] {
        names.sort();
    }
    format!("{totals:?} {held:?} {open:?}")
}
