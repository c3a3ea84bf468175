//! The rule tables of `rates/`: typed rows with their days, sources and marks. No arithmetic, and no law in code.
//!
//! Owns reading the built-in tables and the user's folder laid over them. A destination's folder is read when it is
//! asked for, so that a run for one country does not read the others.

mod after;
mod charge;
mod code;
mod coin;
mod destination;
mod exchange;
mod files;
mod freight;
mod import;
mod later;
mod law;
pub(crate) mod law_names;
mod names;
mod place;
mod refund;
mod relief;
mod series;
mod shorter;
mod stamp;
mod sum;
mod tariff;
mod territory;
mod when;

use std::borrow::Cow;
use std::collections::BTreeMap;

use include_dir::{Dir, include_dir};

// What may be used from outside.
pub use self::{
    destination::TaxName,
    refund::Reason,
    series::Use,
    stamp::{File, RowRef},
};

pub(crate) use after::After;
pub(crate) use charge::{Charge, Kind, Level, Per};
pub(crate) use code::Assembly;
pub(crate) use coin::{Coin, october_before};
pub(crate) use destination::{BorderFreight, CustomsExchange, Destination};
pub(crate) use exchange::{Exchange, Quote};
pub(crate) use freight::FreightStep;
pub(crate) use import::{Differing, Publication, differing, import, merge};
pub(crate) use later::Later;
pub(crate) use law::Law;
pub(crate) use place::{BasisRow, FitRow, Need, PlaceRow, SpreadRow};
pub(crate) use refund::{BACKS, Back, REASONS, RefundRow};
pub(crate) use relief::{Collect, Drop, Relief, TestPer};
#[cfg(test)]
pub(crate) use stamp::MARKS;
pub(crate) use stamp::{Certainty, Dated, Dispute, Evidence, Provenance, Rule};
pub(crate) use sum::{Factor, PRICE_NAMES, SumExpr, Term};
pub(crate) use tariff::{RateFrom, TariffRow, TaxRow};
pub(crate) use territory::Territory;
pub(crate) use when::{Condition, LineFact, Op, ParcelFact, Subject, When};

use crate::text::Problems;
use crate::units::{Country, Date};
use later::{Territories, later};
use stamp::{idle_switches, overlay, rows_of};

static BUILT_IN: Dir<'_> = include_dir!("$CARGO_MANIFEST_DIR/rates");

/// All tables: what holds everywhere, and the folders of law.
#[derive(Debug, Default)]
pub struct Tables {
    /// Countries goods can be sent to.
    pub destinations: Vec<Dated<Destination>>,
    /// Parts of countries, and lands, for which a country's law does not hold as it stands.
    pub(crate) territories: Territories,
    /// How much of the freight counts up to the border.
    pub(crate) border_freight: Vec<Dated<BorderFreight>>,
    /// Exchange rates.
    pub exchange: Exchange,
    /// Freight schedules, by name; rows of one name as they were read.
    pub(crate) freight: Vec<Dated<FreightStep>>,
    /// Places on a bike.
    pub(crate) places: Vec<Dated<PlaceRow>>,
    /// Grams between two ways of weighing.
    pub(crate) basis: Later<BasisRow>,
    /// What must match at each joint.
    pub(crate) fits: Vec<Dated<FitRow>>,
    /// How far unknowns usually move.
    pub(crate) spreads: Later<SpreadRow>,
    /// What usually comes back when goods go back.
    pub(crate) refunds: Later<RefundRow>,
    files: Vec<File>,
}

/// The files built into the program.
pub fn built_in() -> Vec<File> {
    let mut found = Vec::new();
    collect(&BUILT_IN, &mut found);
    found.sort_by(|a, b| a.name.cmp(&b.name));
    found
}

fn collect(dir: &'static Dir<'static>, found: &mut Vec<File>) {
    for file in dir
        .files()
        .filter(|f| f.path().extension().is_some_and(|e| e == "csv"))
    {
        let name = file.path().to_string_lossy().replace('\\', "/");
        found.push(File {
            path: format!("rates/{name}"),
            name,
            bytes: Cow::Borrowed(file.contents()),
            users: false,
        });
    }
    dir.dirs().for_each(|dir| collect(dir, found));
}

impl Tables {
    /// Reads the built-in tables with a user's laid over them, finding every problem of what holds everywhere.
    pub fn load(users: Vec<File>, problems: &mut Problems) -> Tables {
        let mut files = built_in();
        files.extend(users);
        Tables::of(files, problems)
    }

    /// Reads tables from these files alone.
    pub fn of(mut files: Vec<File>, problems: &mut Problems) -> Tables {
        files::settle_names(&mut files, problems);
        let mut tables = Tables {
            destinations: common("destinations", &files, problems),
            territories: Territories::of_files(&files, problems),
            border_freight: common("border_freight", &files, problems),
            freight: common("freight", &files, problems),
            places: common("places", &files, problems),
            basis: later("basis", &files, problems),
            fits: common("fits", &files, problems),
            spreads: later("spreads", &files, problems),
            refunds: later("refunds", &files, problems),
            exchange: Exchange::default(),
            files: Vec::new(),
        };
        for file in files.iter().filter(|f| f.name == "exchange.csv") {
            tables.exchange.add(file, problems);
        }
        tables.exchange.settle(problems);
        tables
            .freight
            .sort_by(|one, other| one.rule.schedule.cmp(&other.rule.schedule));
        files::unknown_files(&files, &tables.destinations, problems);
        tables.files = files;
        tables
    }

    /// The rows of a freight schedule.
    pub(crate) fn freight_of(&self, schedule: &str) -> &[Dated<FreightStep>] {
        let start = self
            .freight
            .partition_point(|row| row.rule.schedule.as_str() < schedule);
        let rows = self.freight.get(start..).unwrap_or_default();
        let end = rows.partition_point(|row| row.rule.schedule == schedule);
        rows.get(..end).unwrap_or_default()
    }

    /// Schedules of the user's own once more under other names; a source that names one of these sellers does not.
    pub(crate) fn hide_schedules(&mut self, names: &BTreeMap<String, String>, sellers: &[String]) {
        let own =
            |row: &&Dated<FreightStep>| row.stamp.users && names.contains_key(&row.rule.schedule);
        let mut found: Vec<Dated<FreightStep>> = self.freight.iter().filter(own).cloned().collect();
        for row in &mut found {
            row.rule.schedule = names.get(&row.rule.schedule).cloned().unwrap_or_default();
            if sellers
                .iter()
                .any(|seller| row.stamp.source.contains(seller.as_str()))
            {
                row.stamp.source = "the seller's own list".into();
            }
        }
        // a schedule that ships with the program names no seller
        let shipped = self
            .freight
            .iter()
            .filter(|row| !row.stamp.users && names.contains_key(&row.rule.schedule))
            .cloned();
        found.extend(shipped.map(|mut row| {
            row.rule.schedule = names.get(&row.rule.schedule).cloned().unwrap_or_default();
            row
        }));
        self.freight.extend(found);
        self.freight
            .sort_by(|one, other| one.rule.schedule.cmp(&other.rule.schedule));
    }

    /// The row of a destination.
    pub fn destination(&self, country: Country, day: Date) -> Option<&Dated<Destination>> {
        self.destinations
            .iter()
            .find(|d| d.rule.country == country && d.stamp.in_force(day))
    }

    /// The territory that a country, a region or a postcode leads to.
    pub(crate) fn territory(
        &self,
        country: Country,
        region: &str,
        postcode: &str,
        day: Date,
    ) -> Option<&Dated<Territory>> {
        territory::find(
            self.territories.of(country),
            (country, region, postcode),
            day,
        )
    }

    /// The law of a destination: its group's folder with its own laid over it, the user's rows over both.
    pub fn law(&self, destination: &Destination, problems: &mut Problems) -> Law {
        let own = destination.country.code().to_lowercase();
        let group = destination.group.to_lowercase();
        // a group named like one of its members has that member's folder, which is read once
        let folders = if group.is_empty() || group == own {
            vec![own]
        } else {
            vec![group, own]
        };
        let mut law = Law::default();
        for users in [false, true] {
            let files: Vec<&File> = self.files.iter().filter(|f| f.users == users).collect();
            if !destination.tariff_of.is_empty() {
                let shared =
                    Law::read(&destination.tariff_of.to_lowercase(), &files, problems).of_goods();
                law = law.under(shared);
            }
            for folder in &folders {
                let over = Law::read(folder, &files, problems);
                law.check_switches(&over, problems);
                law = law.under(over);
            }
        }
        self.check_names(&law, destination, problems);
        shorter::warn(&law, problems);
        law.settle_ends();
        law
    }

    /// Looks whether all that a law names is there.
    fn check_names(&self, law: &Law, destination: &Destination, problems: &mut Problems) {
        let places = self.places.iter().map(|row| row.rule.place.as_str());
        let places: Vec<&str> = places.collect();
        law.check_places(&places, problems);
        let mut schedules: Vec<&str> = self
            .freight
            .iter()
            .map(|row| row.rule.schedule.as_str())
            .collect();
        schedules.dedup();
        let named = self
            .destinations
            .iter()
            .flat_map(|row| [row.rule.country.code(), row.rule.group.as_str()]);
        let lands: Vec<&str> = named.filter(|land| !land.is_empty()).collect();
        let ground = names::Ground {
            destination,
            files: &self.files,
            schedules: &schedules,
            places: &places,
            lands: &lands,
        };
        names::check(law, &ground, problems);
    }

    /// The customs rates of a destination's own authority, from the folders of its law and the one it takes them from.
    pub fn customs_rates(&self, destination: &Destination, problems: &mut Problems) -> Exchange {
        let mut found = Exchange::default();
        let folders = [
            destination.group.as_str(),
            destination.tariff_of.as_str(),
            destination.exchange_of.as_str(),
            destination.country.code(),
        ];
        let names = folders.map(|folder| format!("{}/exchange.csv", folder.to_lowercase()));
        self.files
            .iter()
            .filter(|file| names.contains(&file.name))
            .for_each(|file| found.add(file, problems));
        found.settle(problems);
        found
    }

    /// The places of a kind of bike: its own row of a name stands before the row of all kinds.
    pub fn places_of(&self, kind: &str) -> Vec<&Dated<PlaceRow>> {
        let own = |row: &&Dated<PlaceRow>| row.rule.kind == kind;
        let mut found: Vec<&Dated<PlaceRow>> = self
            .places
            .iter()
            .filter(|r| own(r) || r.rule.kind == "*")
            .collect();
        let named: Vec<String> = found
            .iter()
            .filter(|r| own(r))
            .map(|r| r.rule.place.clone())
            .collect();
        found.retain(|row| own(row) || !named.contains(&row.rule.place));
        found
    }

    /// Folders of law among the files, for listings and checks.
    #[cfg(test)]
    pub(crate) fn folders(&self) -> Vec<&str> {
        let named = self.files.iter().filter_map(|f| f.name.split_once('/'));
        let mut found: Vec<&str> = named.map(|(folder, _)| folder).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// The files the tables were read from.
    #[cfg(test)]
    pub(crate) fn files(&self) -> &[File] {
        &self.files
    }
}

/// A table of what holds everywhere: the user's rows over the built-in ones.
fn common<R: Rule>(name: &str, files: &[File], problems: &mut Problems) -> Vec<Dated<R>> {
    let wanted = format!("{name}.csv");
    let mut of = |users: bool| {
        rows_of(
            files
                .iter()
                .filter(|f| f.name == wanted && f.users == users),
            problems,
        )
    };
    let (built_in, users) = (of(false), of(true));
    idle_switches(&built_in, &users, problems);
    overlay(built_in, users).0
}

#[cfg(test)]
pub(crate) use charge::Group;
#[cfg(test)]
pub(crate) use code::Code;
#[cfg(test)]
mod tests;
