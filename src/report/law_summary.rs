//! The opening of `rates`: what applies to bicycle goods in words, how sure that is, how old the texts are, and what begins or
//! ends within a year. It fits a screen: at most thirty lines.

use super::law_due::{duties, fees, fees_missing, limits};
use super::law_here::Here;
use super::law_tax::taxes;
use super::plain;
use super::view::{Cell, Grid, View};
use crate::landed::{Burden, Gap, Jurisdiction, Question, Why, burden, gaps, rows_in_force};
use crate::tables::law_names as names;
use crate::tables::{Evidence, Provenance, Territory};
use crate::text::words::{count, list};
use crate::units::{Country, Date, Percent};

/// Places that stand for the rest.
const PLACES: [&str; 7] = [
    "frame",
    "wheels",
    "crankset",
    "handlebar",
    "saddle",
    "tyre",
    "chain",
];

/// Countries that parts are often sent from.
const ORIGINS: [&str; 6] = ["CN", "TW", "JP", "DE", "GB", "US"];

/// The summary as a view, without its first line.
pub(super) fn summary(jurisdiction: &Jurisdiction<'_>, ask: &Question, view: &mut View) {
    let here = Here { jurisdiction, ask };
    ordinary(jurisdiction, view);
    view.notes(headed("Tax", taxes(here)));
    view.notes(headed("Also due", duties(here)));
    view.notes(headed("Limit", limits(here)));
    let fees = fees(here);
    let none = "No fee of the post or of couriers is in the tables: give what your carrier asks in the seller's `handling`.";
    let unknown = fees_missing(here).filter(|_| !fees.is_empty());
    view.notes(if fees.is_empty() {
        vec![none.to_owned()]
    } else {
        headed("Fee", fees)
    });
    let found = gaps(jurisdiction, i64::MAX);
    view.notes(
        // a postcode may lead to a place where the law of the country holds as it stands, with a reservation
        jurisdiction
            .of_territory
            .clone()
            .filter(|_| jurisdiction.region.is_empty())
            .into_iter()
            .chain(missing(&found, unknown))
            .chain(changes(&found, ask.date))
            .collect(),
    );
    let mut more = View::default();
    more.notes(
        territories(jurisdiction, ask)
            .into_iter()
            .chain(trust(jurisdiction, ask))
            .collect(),
    );
    more.table(by_table(jurisdiction, ask));
    view.more(more);
}

fn headed(head: &str, lines: Vec<String>) -> Vec<String> {
    lines
        .into_iter()
        .map(|line| format!("{head}: {line}"))
        .collect()
}

/// What parts bear, by origin and place; origins that bear the same are one row.
fn ordinary(jurisdiction: &Jurisdiction<'_>, view: &mut View) {
    let mut seen = Marks::default();
    let mut rows: Vec<(Vec<&str>, Vec<String>)> = Vec::new();
    for origin in ORIGINS
        .iter()
        .copied()
        .filter(|origin| !jurisdiction.is_home(origin))
    {
        let cells: Vec<String> = PLACES
            .iter()
            .map(|place| seen.cell(&burden(jurisdiction, place, origin)))
            .collect();
        match rows.iter_mut().find(|(_, other)| *other == cells) {
            Some((origins, _)) => origins.push(origin),
            None => rows.push((vec![origin], cells)),
        }
    }
    let most = rows
        .iter()
        .map(|(origins, _)| origins.len())
        .max()
        .unwrap_or(0);
    let several = rows.len() > 1;
    let name = |code: &&str| {
        Country::parse(code).map_or_else(|| (*code).to_owned(), |country| country.name().to_owned())
    };
    let header: Vec<&str> = ["made in"].into_iter().chain(PLACES).collect();
    let mut grid = Grid::new("duties", &header);
    for (origins, cells) in rows {
        let label = if origins.len() > 2 && origins.len() == most {
            if several { "elsewhere" } else { "anywhere" }.to_owned()
        } else {
            list(&origins.iter().map(name).collect::<Vec<_>>(), "and")
        };
        grid.rows.push(
            [Cell::text(label)]
                .into_iter()
                .chain(cells.into_iter().map(Cell::number))
                .collect(),
        );
    }
    let from: Vec<&str> = ORIGINS
        .iter()
        .copied()
        .filter(|origin| !jurisdiction.is_home(origin))
        .collect();
    view.say(format!(
        "Duty in percent of the customs value of a part of 1,500 EUR, by courier from {}:",
        list(&from, "or")
    ));
    view.table(grid);
    view.notes(seen.legend().into_iter().collect());
}

/// Which marks the table of duties uses.
#[derive(Default)]
struct Marks {
    remedy: bool,
    disputed: bool,
    unknown: bool,
}

impl Marks {
    fn cell(&mut self, burden: &Burden) -> String {
        match burden {
            Burden::Home => "–".to_owned(),
            Burden::Unknown => {
                self.unknown = true;
                "?".to_owned()
            }
            Burden::Bears {
                duty,
                remedy,
                disputed,
                remedy_disputed,
            } => {
                self.disputed |= *disputed || *remedy_disputed;
                let star = |disputed: bool| if disputed { "*" } else { "" };
                let duty = format!("{}{}", figure(*duty), star(*disputed));
                if remedy.0.is_zero() {
                    return duty;
                }
                self.remedy = true;
                format!("{duty}+{}{}", figure(*remedy), star(*remedy_disputed))
            }
        }
    }

    fn legend(&self) -> Option<String> {
        let marks = [
            (
                self.remedy,
                "After `+`: anti-dumping duty, lower for some exporters.",
            ),
            (self.disputed, "`*`: disputed, so it may not be charged."),
            (self.unknown, "`?`: no rate is known."),
        ];
        let told: Vec<&str> = marks
            .into_iter()
            .filter(|(used, _)| *used)
            .map(|(_, text)| text)
            .collect();
        (!told.is_empty()).then(|| told.join(" "))
    }
}

fn figure(percent: Percent) -> String {
    percent.0.to_string()
}

/// Parts of the country where other rules hold, by name; what holds there stands in the whole list.
fn territories(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Vec<String> {
    let mut refused: Vec<String> = Vec::new();
    let mut reasons: Vec<(&str, Vec<String>)> = Vec::new();
    for (_, territory, _) in territories_of(jurisdiction, ask) {
        match reasons
            .iter_mut()
            .find(|(reason, _)| *reason == territory.reason)
        {
            _ if !territory.covered => refused.push(territory.name.clone()),
            Some((_, names)) => names.push(territory.name.clone()),
            None => reasons.push((&territory.reason, vec![territory.name.clone()])),
        }
    }
    let mut lines: Vec<String> = reasons
        .into_iter()
        .map(|(reason, names)| format!("{}: {reason}", first_few(names)))
        .collect();
    if !refused.is_empty() {
        lines.push(format!(
            "Other rules hold in {}; the rows below say which.",
            first_few(refused)
        ));
    }
    lines
}

/// The territories of a destination with their codes.
pub(super) fn territories_of<'a>(
    jurisdiction: &'a Jurisdiction<'_>,
    ask: &'a Question,
) -> impl Iterator<Item = (String, &'a Territory, &'a Provenance)> {
    let here = jurisdiction
        .tables
        .territories
        .of(ask.to)
        .iter()
        .filter(|row| row.stamp.in_force(ask.date) && row.rule.country == ask.to);
    here.filter(|row| !row.rule.region.is_empty()).map(|row| {
        (
            format!("{}-{}", ask.to, row.rule.region),
            &row.rule,
            &row.stamp,
        )
    })
}

/// How many rows each kind of rule has, and how far to trust them.
fn by_table(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Grid {
    const TABLES: [(&str, &str); 6] = [
        ("tariff.csv", "Duty and anti-dumping rates"),
        ("codes.csv", "Commodity codes for parts"),
        ("charges.csv", "Charges and handling fees"),
        ("reliefs.csv", "Limits and gifts"),
        ("assemblies.csv", "Parts entered together"),
        ("taxes.csv", "Tax rates"),
    ];
    let header = ["Rules", "Rows", "Disputed", "From memory", "Oldest check"];
    let mut grid = Grid::new("rules", &header);
    for (file, words) in TABLES {
        let rows: Vec<&Provenance> = rows_in_force(jurisdiction, ask.date)
            .map(|(_, stamp)| stamp)
            .filter(|stamp| stamp.row.path.ends_with(file))
            .collect();
        let figure = |wanted: fn(&Provenance) -> bool| {
            Cell::number(
                rows.iter()
                    .filter(|stamp| wanted(stamp))
                    .count()
                    .to_string(),
            )
        };
        let oldest = rows.iter().filter_map(|stamp| stamp.checked).min();
        if !rows.is_empty() {
            grid.rows.push(vec![
                Cell::text(words),
                figure(|_| true),
                figure(Provenance::disputed),
                figure(|stamp| stamp.evidence == Evidence::Recalled),
                Cell::number(oldest.map(|day| day.to_string()).unwrap_or_default()),
            ]);
        }
    }
    grid
}

/// How sure the rows in force are and how old their texts.
fn trust(jurisdiction: &Jurisdiction<'_>, ask: &Question) -> Vec<String> {
    let rows: Vec<&Provenance> = rows_in_force(jurisdiction, ask.date)
        .map(|(_, stamp)| stamp)
        .collect();
    let known = |evidence: Evidence| {
        rows.iter()
            .filter(|stamp| stamp.evidence == evidence)
            .count()
    };
    let disputed = rows.iter().filter(|stamp| stamp.disputed()).count();
    let mut dated: Vec<Date> = rows.iter().filter_map(|stamp| stamp.dated).collect();
    dated.sort_unstable();
    let texts = match (dated.first(), dated.get(dated.len() / 2), dated.last()) {
        (Some(oldest), Some(middle), Some(newest)) => {
            format!(" The texts are of {oldest} to {newest}, half of them of {middle} or later.")
        }
        _ => String::new(),
    };
    vec![format!(
        "How sure: of {}, {} were read in the authority's own text, {} are inferred from such texts and {} come from memory; {} disputed.{texts}",
        count(rows.len(), "row", "rows"),
        known(Evidence::Read),
        known(Evidence::Inferred),
        known(Evidence::Recalled),
        count(disputed, "is", "are"),
    )]
}

/// What is missing, long lists cut.
fn missing(found: &[Gap], fees: Option<&str>) -> Option<String> {
    let told = |gap: &Gap| match (
        gap.what.strip_prefix("rate of duty on "),
        gap.what.starts_with("customs rates of "),
    ) {
        (Some(places), _) => {
            let made = ORIGINS_NAMED
                .iter()
                .find(|made| places.ends_with(**made))
                .copied()
                .unwrap_or_default();
            let places = places.strip_suffix(made).unwrap_or(places);
            format!(
                "duty on {}{made}",
                first_few(
                    places
                        .replace(" and ", ", ")
                        .split(", ")
                        .map(str::to_owned)
                        .collect()
                )
            )
        }
        // the last line of the page says which market rates stand in
        (None, true) => "customs exchange rates".to_owned(),
        (None, false) => gap.what.clone(),
    };
    let wanting: Vec<String> = found
        .iter()
        .filter(|gap| gap.why == Why::Missing)
        .map(told)
        .chain(fees.map(str::to_owned))
        .collect();
    (!wanting.is_empty()).then(|| format!("Missing: {}.", wanting.join("; ")))
}

/// What a gap of one origin ends with.
const ORIGINS_NAMED: [&str; 2] = [" made in China", " made in Taiwan"];

/// Three names of a list, and how many more there are.
fn first_few(mut names: Vec<String>) -> String {
    if names.len() > 3 {
        let more = names.split_off(3).len();
        names.push(format!("{more} more"));
    }
    list(&names, "and")
}

/// What begins or ends within a year, what happens alike said once.
fn changes(found: &[Gap], on: Date) -> Vec<String> {
    let near = |gap: &&Gap| {
        matches!(gap.why, Why::Changing | Why::Ended)
            && gap.day.is_none_or(|day| day.days_since(on).abs() <= 366)
    };
    let mut events: Vec<(String, Vec<String>)> = Vec::new();
    for gap in found.iter().filter(near) {
        let (name, event) = gap.what.split_once(": ").unwrap_or((&gap.what, ""));
        let name = row_in_words(name);
        match events.iter_mut().find(|(other, _)| other == event) {
            Some((_, names)) if names.contains(&name) => {}
            Some((_, names)) => names.push(name),
            None => events.push((event.to_owned(), vec![name])),
        }
    }
    if events.is_empty() {
        return vec!["Within a year nothing in the tables begins or ends.".to_owned()];
    }
    let told = events.into_iter().map(|(event, names)| {
        format!(
            "{}: {}",
            first_few(names),
            event
                .replace("in force ", "")
                .replace("announced, from", "announced from")
        )
    });
    vec![format!(
        "Within a year: {}.",
        told.collect::<Vec<_>>().join("; ")
    )]
}

/// A row's name: a charge or a limit, `LAYER GOODS ORIGIN` or `TAX COUNTRY GOODS`.
fn row_in_words(name: &str) -> String {
    let parts: Vec<&str> = name.split(' ').collect();
    match parts.as_slice() {
        [layer, _, origin] => format!(
            "{}{}",
            names::layer(layer),
            if *origin == "*" {
                String::new()
            } else {
                format!(" on goods made in {}", plain::place(origin))
            }
        ),
        _ => names::charge(name),
    }
}
