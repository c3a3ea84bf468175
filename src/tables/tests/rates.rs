//! The built-in tables: they load without a remark for every destination, every row says where it comes from, what they
//! name exists, and no row of `rates/gb` can go missing unseen.

use std::collections::{BTreeMap, BTreeSet};

use crate::book::Book;
use crate::landed::{ChargeBreakdown, Landed};
use crate::made::{self, built_in as tables};
use crate::tables::code::Code;
use crate::tables::{
    Assembly, Condition, Dated, Destination, File, Kind, Law, Need, PRICE_NAMES, Provenance,
    Subject, Tables, TariffRow, TaxRow, built_in,
};
use crate::text::{Problems, draw};
use crate::units::{Date, Percent};
use crate::{Question, cost};

fn law(tables: &Tables, destination: &Destination) -> Law {
    let mut problems = Problems::new();
    let law = tables.law(destination, &mut problems);
    let left: Vec<String> = problems
        .iter()
        .filter(|p| {
            !p.place
                .as_ref()
                .is_some_and(|at| noted_gap(tables, &at.path, at.line))
        })
        .map(|p| {
            format!(
                "{:?} {}",
                p.place.as_ref().map(ToString::to_string),
                p.message
            )
        })
        .collect();
    assert!(
        left.is_empty(),
        "{}: {}",
        destination.country,
        left.join("\n")
    );
    law
}

/// Whether a row says itself that days before it are left open.
fn noted_gap(tables: &Tables, path: &str, line: usize) -> bool {
    let file = tables.files().iter().find(|f| f.path == path).unwrap();
    let text = std::str::from_utf8(&file.bytes).unwrap();
    text.lines()
        .nth(line - 1)
        .is_some_and(|row| row.contains("gap"))
}

fn gb(tables: &Tables) -> Law {
    let found = tables
        .destinations
        .iter()
        .find(|d| d.rule.country.code() == "GB")
        .unwrap();
    law(tables, &found.rule)
}

#[test]
fn every_destination_loads_without_a_problem() {
    let tables = tables();
    assert!(
        tables
            .destinations
            .iter()
            .any(|d| d.rule.country.code() == "GB")
    );
    let mut reached: BTreeSet<String> = BTreeSet::new();
    let mut groups: BTreeSet<&str> = BTreeSet::new();
    for destination in &tables.destinations {
        let (code, group) = (
            destination.rule.country.code().to_lowercase(),
            destination.rule.group.as_str(),
        );
        let own = tables.folders().contains(&code.as_str());
        reached.extend([code, group.to_lowercase()]);
        if own || group.is_empty() || groups.insert(group) {
            let law = law(tables, &destination.rule);
            assert!(!law.is_empty(), "{} has no law", destination.rule.country);
        }
    }
    for folder in tables.folders() {
        assert!(
            reached.contains(folder),
            "no destination uses rates/{folder}"
        );
    }
}

/// A row of a table as text: its line, and its cells by column.
type RawRow = (usize, BTreeMap<String, String>);

/// The rows of a built-in file, a note such as `# source = ...` standing in for an empty cell.
fn raw(file: &File) -> Vec<RawRow> {
    let text = std::str::from_utf8(&file.bytes).unwrap();
    let note = |line: &str| {
        line.strip_prefix('#')?
            .split_once('=')
            .map(|(name, value)| (name.trim().to_owned(), value.trim().to_owned()))
    };
    let notes: BTreeMap<String, String> = text
        .lines()
        .take_while(|line| line.starts_with('#'))
        .filter_map(note)
        .collect();
    let mut reader = csv::ReaderBuilder::new()
        .has_headers(false)
        .comment(Some(b'#'))
        .flexible(true)
        .from_reader(text.as_bytes());
    let mut rows = reader.records().map(Result::unwrap);
    let header: Vec<String> = rows.next().unwrap().iter().map(str::to_owned).collect();
    // lines are counted on from where the row before began
    let (mut counted, mut lines) = (0, 0);
    rows.map(|row| {
        let start = usize::try_from(row.position().unwrap().byte()).unwrap();
        lines += text[counted..start].matches('\n').count();
        counted = start;
        let mut cells: BTreeMap<String, String> = header
            .iter()
            .cloned()
            .zip(row.iter().map(str::to_owned))
            .collect();
        for (name, value) in &notes {
            let cell = cells.entry(name.clone()).or_default();
            if cell.is_empty() {
                cell.clone_from(value);
            }
        }
        (lines + 1, cells)
    })
    .collect()
}

#[test]
fn every_row_says_where_it_comes_from() {
    let files = built_in();
    assert!(files.iter().any(|f| f.name == "gb/charges.csv"));
    let mut wrong = Vec::new();
    for file in &files {
        let rows = raw(file);
        for (line, cells) in rows {
            let blank = |column: &&&str| {
                cells
                    .get(**column)
                    .is_none_or(|cell| cell.trim().is_empty())
            };
            let missing: Vec<&&str> = ["source", "dated", "checked", "evidence", "certainty"]
                .iter()
                .filter(blank)
                .collect();
            if !missing.is_empty() {
                wrong.push(format!("{}:{line}: no {missing:?}", file.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Whether a claim is granted is settled before any row is counted: a duty for those who claim asks of sums of the price alone.
#[test]
fn a_duty_for_those_who_claim_asks_of_the_price_alone() {
    let tables = tables();
    let (mut claimed, mut wrong) = (0, Vec::new());
    for row in &tables.destinations {
        for charge in law(tables, &row.rule).charges {
            let sides = &charge.rule.when.any;
            let claims = |side: &&Vec<Condition>| {
                let asks = |c: &Condition| c.to_string() == "preference = yes";
                charge.rule.kind == Kind::Duty && side.iter().any(asks)
            };
            for condition in sides.iter().filter(claims).flatten() {
                claimed += 1;
                if let Subject::Sum(sum) = &condition.subject
                    && !sum
                        .terms
                        .iter()
                        .all(|t| PRICE_NAMES.contains(&t.name.as_str()))
                {
                    wrong.push(format!("{}: {condition}", charge.stamp.row));
                }
            }
        }
    }
    assert!(claimed > 50 && wrong.is_empty(), "{claimed} {wrong:?}");
}

/// The rows of one shipped table, and a cell of one of them.
fn rows_of(name: &str) -> Vec<RawRow> {
    raw(built_in().iter().find(|file| file.name == name).unwrap())
}

fn cell<'a>(row: &'a RawRow, name: &str) -> &'a str {
    row.1.get(name).map_or("", |cell| cell.as_str())
}

/// Regulation 275/2008: the flat rate of a gift is not for goods that are free in the tariff. The rows of its value name them one by
/// one, and the tariff must have no other ones.
#[test]
fn the_flat_rate_of_a_gift_leaves_out_the_goods_that_are_free() {
    let free = |row: &&RawRow| cell(row, "layer") == "mfn" && cell(row, "percent") == "0";
    let tariff = rows_of("eu/tariff.csv");
    let free: BTreeSet<&str> = (tariff.iter().filter(free))
        .map(|row| cell(row, "commodity"))
        .collect();
    assert!(!free.is_empty());
    let mut sides = 0;
    for row in rows_of("eu/charges.csv") {
        if !["dutiable_goods", "dutiable_value"].contains(&cell(&row, "charge")) {
            continue;
        }
        for side in cell(&row, "when").split(" | ") {
            let left_out: BTreeSet<&str> = side
                .split(" & ")
                .filter_map(|one| one.strip_prefix("commodity != "))
                .collect();
            assert_eq!(left_out, free, "rates/eu/charges.csv:{}", row.0);
            sides += 1;
        }
    }
    assert_eq!(sides, 4);
}

/// The handling fee of the Finnish post lies in the base of value added tax. Each way to pay has a row in that base and one as a fee,
/// and both have the same amount.
#[test]
fn the_fee_of_the_finnish_post_is_the_one_in_the_base_of_tax() {
    let charges = rows_of("eu/charges.csv");
    let amounts = |charge: &str| {
        let rows = charges.iter().filter(|row| cell(row, "charge") == charge);
        let paid = |row: &RawRow| {
            let first = cell(row, "when").split(" | ").next().unwrap().to_owned();
            let ways = first.split(" & ").filter(|one| one.contains("choice.pay"));
            (
                ways.collect::<Vec<_>>().join(" & "),
                cell(row, "flat").to_owned(),
            )
        };
        rows.map(paid).collect::<BTreeSet<(String, String)>>()
    };
    for (fee, base, ways) in [
        ("fee_post_fi", "post_handling_fi", 3),
        ("fee_post_fi_rise", "post_handling_fi_rise", 1),
    ] {
        assert_eq!(amounts(fee), amounts(base));
        assert_eq!(amounts(fee).len(), ways);
    }
}

#[test]
fn rates_of_duty_stand_in_order() {
    for file in built_in()
        .iter()
        .filter(|f| f.name.ends_with("/tariff.csv"))
    {
        let cell = |row: &RawRow, name: &str| row.1.get(name).cloned().unwrap_or_default();
        let keys: Vec<[String; 4]> = raw(file)
            .iter()
            .map(|row| ["layer", "commodity", "origin", "valid_from"].map(|name| cell(row, name)))
            .collect();
        let mut layers: Vec<&str> = keys.iter().map(|key| key[0].as_str()).collect();
        layers.dedup();
        let apart = layers.len() - layers.iter().collect::<BTreeSet<_>>().len();
        assert_eq!(
            apart, 0,
            "{}: rows of one layer stand apart: {layers:?}",
            file.path
        );
        if file.name == "gb/tariff.csv" {
            keys.windows(2).for_each(|pair| {
                assert!(
                    pair[0] <= pair[1],
                    "{}: {:?} stands before {:?}",
                    file.path,
                    pair[0],
                    pair[1]
                )
            });
        }
    }
}

/// Places whose digits were not found in what was read: the notes of `rates/gb/codes.csv` name them.
const WITHOUT_CODE: [&str; 5] = [
    "quick-link",
    "sealant",
    "rim-tape",
    "valves",
    "frame-protection",
];

/// Days on which every place of Great Britain is tried: the first, one in the middle, the day before and the day of a change, a late one.
const DAYS: [(i32, u32, u32); 5] = [
    (2021, 1, 1),
    (2022, 7, 31),
    (2024, 1, 18),
    (2024, 1, 19),
    (2026, 10, 30),
];

#[test]
fn what_codes_and_assemblies_name_exists() {
    let tables = tables();
    let law = gb(tables);
    let places: BTreeSet<&str> = tables
        .places
        .iter()
        .map(|row| row.rule.place.as_str())
        .collect();
    for code in &law.codes {
        for place in code.rule.places() {
            assert!(
                places.contains(place.as_str()),
                "{}: there is no place `{place}`",
                code.stamp.row
            );
        }
    }
    for assembly in &law.assemblies {
        let named = assembly.rule.places();
        named.for_each(|place| {
            assert!(
                places.contains(place.as_str()),
                "{}: there is no place `{place}`",
                assembly.stamp.row
            )
        });
        assert!(
            rated(&law, &assembly.rule.commodity, day(2026, 3, 2)),
            "{}: no rate of duty",
            assembly.stamp.row
        );
    }
    for fit in &tables.fits {
        fit.rule.between.iter().for_each(|place| {
            assert!(
                places.contains(place.as_str()),
                "{}: there is no place `{place}`",
                fit.stamp.row
            )
        });
    }
}

#[test]
fn every_place_of_great_britain_has_a_code_and_a_rate() {
    let tables = tables();
    let law = gb(tables);
    let notes = std::str::from_utf8(
        &tables
            .files()
            .iter()
            .find(|f| f.name == "gb/codes.csv")
            .unwrap()
            .bytes,
    )
    .unwrap()
    .to_owned();
    let notes: String = notes.lines().filter(|line| line.starts_with('#')).collect();
    let mut tried = 0;
    for row in tables
        .places
        .iter()
        .filter(|row| row.rule.need != Need::Optional)
    {
        let place = row.rule.place.as_str();
        if WITHOUT_CODE.contains(&place) {
            assert!(
                notes.contains(place),
                "the notes of codes.csv do not own up to {place}"
            );
            assert!(
                !law.codes.iter().any(|c| c.rule.place == place),
                "{place} has a code now: take it off the list"
            );
            continue;
        }
        for (y, m, d) in DAYS {
            let on = day(y, m, d);
            let codes: Vec<_> = law
                .codes
                .iter()
                .filter(|c| c.rule.place == place && c.stamp.in_force(on))
                .collect();
            assert!(!codes.is_empty(), "{place} has no code on {on}");
            for code in codes {
                assert!(
                    rated(&law, &code.rule.commodity, on),
                    "{}: no rate of duty for {} on {on}",
                    code.stamp.row,
                    code.rule.commodity
                );
                tried += 1;
            }
        }
    }
    assert!(tried > 400, "only {tried} were tried");
}

fn day(year: i32, month: u32, day: u32) -> Date {
    Date::new(year, month, day).unwrap()
}

/// Whether the ordinary duty names a rate for these digits, whatever the origin.
fn rated(law: &Law, commodity: &str, on: Date) -> bool {
    law.tariff.iter().any(|row| {
        let goods = row.rule.commodity == "*" || commodity.starts_with(&row.rule.commodity);
        row.rule.layer == "mfn" && row.rule.origin == "*" && goods && row.stamp.in_force(on)
    })
}

// --- Every row of rates/gb counts -----------------------------------------------------------------------------------

/// A book with its question, made so that certain rows act on it.
struct Probe {
    book: Book,
    ask: Question,
}

impl Probe {
    fn new(parts: &str, sellers: &str, settings: &[(&str, &str)]) -> Probe {
        let mut text = "setting,value\ndestination,GB\n".to_owned();
        settings
            .iter()
            .for_each(|(name, value)| text.push_str(&format!("{name},{value}\n")));
        let book = made::book(&[("settings", &text), ("parts", parts), ("sellers", sellers)]);
        let ask = made::ask(&book);
        Probe { book, ask }
    }

    /// The same delivered to another country.
    fn to(mut self, country: &str) -> Probe {
        self.book.settings.destination = crate::units::Country::parse(country);
        self.ask = made::ask(&self.book);
        self
    }

    fn run(&self, tables: &Tables) -> Outcome {
        match cost(&self.book, tables, &self.ask) {
            Ok(landed) => Outcome::of(&landed),
            Err(problems) => Outcome {
                figures: vec![("refused".to_owned(), Vec::new())],
                said: problems.iter().map(|p| p.message.clone()).collect(),
            },
        }
    }
}

const SELLERS: &str = "seller,dispatch,currency,sender,freight,channel,transit_days,collects_tax\n";

const PARTS: &str = "part,place,standing,seller,price,mass_g,origin,preference,commodity,traits\n";

/// What a reader of the result sees: the figures, and the gaps and cautions.
#[derive(PartialEq)]
struct Outcome {
    figures: Vec<(String, Vec<ChargeBreakdown>)>,
    said: Vec<String>,
}

impl Outcome {
    fn of(landed: &Landed) -> Outcome {
        let figures = landed
            .bills
            .iter()
            .map(|bill| {
                (
                    bill.id.clone(),
                    bill.lines.iter().map(|line| line.amounts).collect(),
                )
            })
            .collect();
        let gaps = landed.bills.iter().flat_map(|bill| {
            bill.gaps
                .iter()
                .map(|part| format!("no duty known for {part}"))
        });
        let digits = landed.bills.iter().flat_map(|bill| {
            bill.lines
                .iter()
                .map(|line| format!("declared as {}", line.commodity))
        });
        Outcome {
            figures,
            said: gaps
                .chain(digits)
                .chain(landed.cautions.iter().map(|c| c.text.clone()))
                .collect(),
        }
    }
}

/// What taking a row away does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Effect {
    /// Nothing on any probe.
    None,
    /// A gap is named, other digits are declared, or a caution comes or goes.
    Said,
    /// An amount is another one, or the tables are refused.
    Figures,
}

/// A day on which a row is in force; for an announced one, some weeks before it begins.
fn day_of(stamp: &Provenance) -> Date {
    let first = day(2021, 3, 1);
    let from = stamp.span.from.unwrap_or(first);
    if !stamp.counts() {
        return from.minus_days(60);
    }
    let start = from.plus_days(20).max(first);
    stamp.span.to.map_or(start, |to| start.min(to))
}

/// The traits that a row's `when` asks for, as a cell: `exporter=C382 + folding=yes`.
fn traits(when: &str) -> String {
    let wanted = when
        .split(" & ")
        .filter_map(|c| c.strip_prefix("trait.")?.split_once(" = "));
    wanted
        .map(|(name, value)| format!("{name}={value}"))
        .collect::<Vec<_>>()
        .join(" + ")
}

/// The country that a condition's first side is sent from, one of them where it names a group.
fn dispatch(when: &str) -> Option<&str> {
    let mut asked = when.split(" | ").next()?.split(" & ");
    let from = asked.find_map(|c| c.strip_prefix("dispatch = "))?;
    Some(if from == "EU" { "DE" } else { from })
}

/// Goods to try a rate on: its own digits, carried on by an ordinary rate's where they are too few.
fn digits_for(law: &Law, prefix: &str) -> String {
    if prefix.len() > 6 {
        return prefix.to_owned();
    }
    let fits = |row: &&Dated<TariffRow>| {
        row.rule.layer == "mfn" && (prefix == "*" || row.rule.commodity.starts_with(prefix))
    };
    let bears = |row: &&Dated<TariffRow>| row.rule.percent.is_some_and(|p| p != Percent::ZERO);
    law.tariff
        .iter()
        .filter(fits)
        .find(bears)
        .unwrap_or_else(|| panic!("no ordinary rate under {prefix}"))
        .rule
        .commodity
        .clone()
}

/// One part of one seller, by courier.
struct OneLine<'a> {
    place: &'a str,
    commodity: &'a str,
    origin: &'a str,
    dispatch: &'a str,
    preference: &'a str,
    traits: String,
    kind: &'a str,
    on: Date,
}

impl OneLine<'_> {
    fn probe(&self) -> Probe {
        let OneLine {
            place,
            commodity,
            origin,
            dispatch,
            preference,
            traits,
            kind,
            on,
        } = self;
        let parts = format!(
            "{PARTS}A thing,{place},,A seller,400.00,500,{origin},{preference},{commodity},{traits}\n"
        );
        let sellers = format!("{SELLERS}A seller,{dispatch},GBP,business,20.00,courier,0,no\n");
        Probe::new(
            &parts,
            &sellers,
            &[("date", &on.to_string()), ("kind", kind)],
        )
    }
}

fn for_tariff(law: &Law, row: &Dated<TariffRow>) -> Probe {
    let when = row.rule.when.to_string();
    let origin = match row.rule.origin.as_str() {
        "*" => "TW",
        "EU" => "DE",
        country => country,
    };
    OneLine {
        place: "tool",
        commodity: &digits_for(law, &row.rule.commodity),
        origin,
        dispatch: dispatch(&when).unwrap_or(origin),
        preference: if row.rule.layer == "preference" {
            "yes"
        } else {
            ""
        },
        traits: traits(&when),
        kind: "road",
        on: day_of(&row.stamp),
    }
    .probe()
}

fn for_tax(law: &Law, row: &Dated<TaxRow>) -> Probe {
    let commodity = &digits_for(law, &row.rule.commodity);
    let on = day_of(&row.stamp);
    OneLine {
        place: "tool",
        commodity,
        origin: "TW",
        dispatch: "TW",
        preference: "",
        traits: String::new(),
        kind: "road",
        on,
    }
    .probe()
    .to(&row.rule.country)
}

fn for_code(tables: &Tables, row: &Dated<Code>) -> Probe {
    // a headset stands for whatever else is sold as one
    let place = row.rule.place.replace(" + *", " + headset");
    let place: &'static str = place.leak();
    let has = |kind: &&&str| {
        place
            .split(" + ")
            .all(|name| tables.places_of(kind).iter().any(|p| p.rule.place == name))
    };
    let kind = ["road", "gravel", "hardtail"]
        .iter()
        .find(has)
        .unwrap_or_else(|| panic!("no kind of bike has {place}"));
    let (traits, on) = (traits(&row.rule.when.to_string()), day_of(&row.stamp));
    OneLine {
        place,
        commodity: "",
        origin: "CN",
        dispatch: "CN",
        preference: "",
        traits,
        kind,
        on,
    }
    .probe()
}

fn for_assembly(row: &Dated<Assembly>) -> Probe {
    let of = row
        .rule
        .of
        .iter()
        .take(row.rule.any)
        .filter_map(|alternatives| alternatives.first());
    let mut parts = PARTS.to_owned();
    for place in row.rule.needs.iter().chain(of).chain(row.rule.with.first()) {
        parts.push_str(&format!("A {place},{place},,A seller,100.00,500,CN,,,\n"));
    }
    let sellers = format!("{SELLERS}A seller,CN,GBP,business,20.00,courier,0,no\n");
    Probe::new(
        &parts,
        &sellers,
        &[("date", &day_of(&row.stamp).to_string())],
    )
}

/// Who sends what, worth how much: values on both sides of every limit, goods that bear an ordinary duty, anti-dumping, a
/// duty against subsidies, a low rate, and one that claims a preference nobody grants.
const PARCELS: [(&str, &str, &str, &str, &str); 14] = [
    ("business", "100.00", "8714911039", "CN", ""),
    ("business", "200.00", "8714911039", "CN", ""),
    ("business", "950.00", "8714911039", "CN", ""),
    ("business", "400.00", "87116010", "CN", ""),
    ("business", "400.00", "87149990", "JP", "yes"),
    ("business", "400.00", "87149990", "TW", "yes"),
    ("private", "100.00", "8714911039", "CN", ""),
    ("private", "200.00", "8714911039", "CN", ""),
    ("gift", "30.00", "8714911039", "CN", ""),
    ("gift", "100.00", "8714911039", "CN", ""),
    ("gift", "200.00", "8714911039", "CN", ""),
    ("gift", "200.00", "65061010", "TW", ""),
    ("gift", "700.00", "8714911039", "CN", ""),
    ("gift", "950.00", "8714911039", "CN", ""),
];

/// Those parcels, for one way of travelling and one day.
fn parcels(channel: &str, choice: Option<(&str, &str)>, on: Date) -> Probe {
    let (mut parts, mut sellers) = (PARTS.to_owned(), SELLERS.to_owned());
    for (sender, value, goods, origin, preference) in PARCELS {
        let name = format!("{sender} {value} {goods} {origin}");
        let standing = if sender == "gift" { "given" } else { "" };
        parts.push_str(&format!(
            "{name},tool,{standing},{name},{value},500,{origin},{preference},{goods},\n"
        ));
        sellers.push_str(&format!(
            "{name},{origin},GBP,{sender},20.00,{channel},0,no\n"
        ));
    }
    let date = on.to_string();
    let choice = choice.map(|(name, value)| (format!("choice.{name}"), value));
    let settings = choice
        .iter()
        .map(|(name, value)| (name.as_str(), *value))
        .chain([("date", date.as_str())]);
    Probe::new(&parts, &sellers, &settings.collect::<Vec<_>>())
}

/// Every way a parcel can come to Great Britain that its rows tell apart.
fn for_sums(on: Date) -> Vec<Probe> {
    let mut probes = vec![
        parcels("post", None, on),
        parcels("post", Some(("post_service", "express")), on),
        parcels("courier", None, on),
    ];
    let courier = |one| parcels("courier", Some(("courier", one)), on);
    probes.extend(["a", "b", "c", "road"].map(courier));
    probes.extend(NEAR.map(|dispatch| from_near(dispatch, on)));
    probes
}

/// Places beside Great Britain, from where its rows take less or nothing.
const NEAR: [&str; 3] = ["XI", "JE", "GG"];

/// Goods that bear duty and anti-dumping, sent from one of them.
fn from_near(dispatch: &str, on: Date) -> Probe {
    OneLine {
        place: "tool",
        commodity: "8714911039",
        origin: "CN",
        dispatch,
        preference: "",
        traits: String::new(),
        kind: "road",
        on,
    }
    .probe()
}

/// The tables without one line of one file, which becomes a note so that no other row changes its number.
fn without(files: &[File], path: &str, line: usize) -> Tables {
    let cut = |file: &File| {
        let text = std::str::from_utf8(&file.bytes).unwrap();
        let keep = |(at, row)| if at + 1 == line { "# gone" } else { row };
        let bytes = text
            .lines()
            .enumerate()
            .map(keep)
            .collect::<Vec<&str>>()
            .join("\n")
            .into_bytes();
        File {
            bytes: bytes.into(),
            ..file.clone()
        }
    };
    let files = files
        .iter()
        .map(|file| {
            if file.path == path {
                cut(file)
            } else {
                file.clone()
            }
        })
        .collect();
    Tables::of(files, &mut Problems::new())
}

/// Probes with what they come to before any row is taken away.
type Known = Vec<(Probe, Outcome)>;

fn known(tables: &Tables, probes: impl IntoIterator<Item = Probe>) -> Known {
    probes
        .into_iter()
        .map(|probe| {
            let outcome = probe.run(tables);
            (probe, outcome)
        })
        .collect()
}

/// What taking a row away does, at most, to these probes.
fn effect(files: &[File], stamp: &Provenance, probes: &Known) -> Effect {
    let tables = without(files, &stamp.row.path, stamp.row.line);
    let mut most = Effect::None;
    for (probe, before) in probes {
        let after = probe.run(&tables);
        if after.figures != before.figures {
            return Effect::Figures;
        }
        if after.said != before.said {
            most = Effect::Said;
        }
    }
    most
}

/// The rows that can go without a word or an amount changing, each as it begins in its file: pinned here because no figure
/// pins them. No anti-dumping at zero percent for a named exporter is no anti-dumping without the row; and of a piece
/// that fills two places, the first has the same digits on its own. That these and the rows of one place stand in the tables is
/// held by the page of the folder: see `world/pages.rs`.
const SILENT: [(&str, &str); 4] = [
    ("codes", "wheels + cassette,,8714999019,"),
    ("tariff", "remedy,871200,CN,0,,,,trait.exporter = B773,"),
    ("tariff", "remedy,871200,CN,0,,,,trait.exporter = B774,"),
    ("tariff", "remedy,871200,CN,0,,,,trait.exporter = C329,"),
];

/// Countries of the Union for rows that name it, whichever destinations are built in.
const UNION: &str =
    "country,currency,group,customs_exchange,valid_from\nDE,EUR,EU,market,2021-01-01\n";

/// What the sums of Great Britain are made from, and nothing that takes long to read.
fn files_of_gb() -> Vec<File> {
    let needed = ["destinations.csv", "border_freight.csv", "places.csv"];
    let of_law = |f: &File| f.name.starts_with("gb/") && f.name != "gb/exchange.csv";
    let mut files: Vec<File> = built_in()
        .into_iter()
        .filter(|f| needed.contains(&f.name.as_str()) || of_law(f))
        .collect();
    files.push(File {
        path: "destinations.csv".to_owned(),
        name: "destinations.csv".to_owned(),
        bytes: UNION.as_bytes().to_vec().into(),
        users: true,
    });
    files
}

#[test]
fn no_row_of_great_britain_can_go_missing_unseen() {
    let files = files_of_gb();
    let mut problems = Problems::new();
    let tables = Tables::of(files.clone(), &mut problems);
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    let law = gb(&tables);
    let try_row = |stamp: &Provenance, probe: Probe| {
        (
            stamp.clone(),
            effect(&files, stamp, &known(&tables, [probe])),
        )
    };
    let tried = || made::one_in(24, &law.tariff);
    let tried_codes = || made::one_in(8, &law.codes);
    let summed: Vec<&Provenance> = law
        .charges
        .iter()
        .map(|r| &r.stamp)
        .chain(law.reliefs.iter().map(|r| &r.stamp))
        .collect();
    let tried_sums = || made::one_in(3, summed.iter().copied());
    let rates = || {
        tried()
            .map(|row| try_row(&row.stamp, for_tariff(&law, row)))
            .collect::<Vec<_>>()
    };
    let others = || {
        let codes = tried_codes().map(|row| try_row(&row.stamp, for_code(&tables, row)));
        let assemblies = law
            .assemblies
            .iter()
            .map(|row| try_row(&row.stamp, for_assembly(row)));
        let taxes = law
            .taxes
            .iter()
            .map(|row| try_row(&row.stamp, for_tax(&law, row)));
        let ways = known(
            &tables,
            [day(2021, 6, 1), day(2026, 3, 2), day(2028, 8, 1)]
                .into_iter()
                .flat_map(for_sums),
        );
        let sums = tried_sums().map(|stamp| (stamp.clone(), effect(&files, stamp, &ways)));
        codes
            .chain(assemblies)
            .chain(taxes)
            .chain(sums)
            .collect::<Vec<_>>()
    };
    let (mut found, others) = std::thread::scope(|scope| {
        let rates = scope.spawn(rates);
        let others = others();
        (rates.join().unwrap(), others)
    });
    found.extend(others);
    let left = [
        law.tariff.len() - tried().count(),
        law.codes.len() - tried_codes().count(),
        summed.len() - tried_sums().count(),
    ];
    judged(&files, &found, left.iter().sum());
}

/// Every row has been tried, and those without an effect are the ones that are pinned by name.
///
/// `left` is how many rows of duty, of codes, of charges and of reliefs only the whole run tries.
fn judged(files: &[File], found: &[(Provenance, Effect)], left: usize) {
    // what comes back when goods go back is no part of a sum: see returns.rs
    // ... and of exchange one month's rate stands for another's: see world/imports.rs
    let of_sums = |f: &&File| {
        f.name.starts_with("gb/")
            && !["gb/refunds.csv", "gb/exchange.csv"].contains(&f.name.as_str())
    };
    let rows: usize = files.iter().filter(of_sums).map(|f| raw(f).len()).sum();
    assert_eq!(found.len() + left, rows, "rows tried, rows there");
    let silent = found.iter().filter(|(_, effect)| *effect == Effect::None);
    let text = |stamp: &Provenance| {
        let file = files.iter().find(|f| *f.path == *stamp.row.path).unwrap();
        let table = file
            .name
            .trim_start_matches("gb/")
            .trim_end_matches(".csv")
            .to_owned();
        (
            table,
            std::str::from_utf8(&file.bytes)
                .unwrap()
                .lines()
                .nth(stamp.row.line - 1)
                .unwrap()
                .to_owned(),
        )
    };
    let mut pinned: Vec<(&str, &str)> = SILENT.to_vec();
    let mut unseen = Vec::new();
    for (stamp, _) in silent {
        let (table, line) = text(stamp);
        match pinned
            .iter()
            .position(|(of, start)| *of == table && line.starts_with(start))
        {
            Some(at) => _ = pinned.remove(at),
            // Six digits that lead to one line alone are completed without the row, which then only gives the text.
            None if table == "codes" && !line.contains(" + ") => {}
            None => unseen.push(format!("{}: {line}", stamp.row)),
        }
    }
    assert!(
        unseen.is_empty(),
        "these can go missing unseen:\n{}",
        unseen.join("\n")
    );
    assert!(
        pinned.is_empty() || left > 0,
        "these are gone, or change a figure now: {pinned:?}"
    );
    let figures = found
        .iter()
        .filter(|(_, effect)| *effect == Effect::Figures)
        .count();
    // rows of duty change figures more often than others, so a share of them says nothing of the whole
    assert!(
        left > 0 || figures * 4 > found.len() * 3,
        "only {figures} of {} rows change a figure",
        found.len()
    );
}

/// The built-in rates are cut by pair and read when asked for; a line that were not in the plain form would be lost.
#[test]
fn every_built_in_rate_is_read_and_stands_in_the_order_of_its_days() {
    let text = std::fs::read_to_string(made::home().join("rates/exchange.csv")).unwrap();
    let lines: Vec<&str> = text
        .lines()
        .filter(|line| line.starts_with("market,EUR,"))
        .collect();
    let tables = crate::tables::Tables::load(Vec::new(), &mut crate::text::Problems::new());
    let mut codes: Vec<&str> = lines.iter().map(|line| &line[11..14]).collect();
    codes.dedup();
    assert!(codes.len() >= 16 && lines.len() > 7_000, "{codes:?}");
    let mut read = 0;
    for code in codes {
        let history: Vec<_> = tables
            .exchange
            .history(crate::units::Currency::parse(code).unwrap())
            .collect();
        assert!(
            history.windows(2).all(|pair| pair[0].0 < pair[1].0),
            "{code} is not in the order of its days"
        );
        let of_code = format!("market,EUR,{code},");
        let typed: BTreeSet<&str> = lines
            .iter()
            .filter_map(|line| line.strip_prefix(&of_code))
            .collect();
        for (day, rate) in &history {
            assert!(
                typed.contains(format!("{rate},{day},").as_str()),
                "{code} {day}"
            );
        }
        read += history.len();
    }
    assert_eq!(read, lines.len());
}
