//! Which percentage a line bears: the longest prefix of its commodity, then its origin, the origin's group, any origin.

use std::collections::BTreeMap;
use std::ops::Bound::{Excluded, Unbounded};

use super::condition::{Facts, Test};
use super::ledger::Names;
use super::parcel::Line;
use crate::tables::{Coin, Dated, Op, Provenance, RateFrom, RowRef, Subject, TariffRow, TaxRow};
use crate::units::{Dec, Overflow, Percent, Rate};

/// A rate found for a line, amounts in the destination's money.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct RateUsed {
    /// Percent of the sum.
    pub(crate) percent: Percent,
    /// For each kilogram.
    pub(crate) per_kg: Dec,
    /// For each piece.
    pub(crate) per_piece: Dec,
    /// The table's row; none when the charge's own row gives the percentage.
    pub(crate) row: Option<RowRef>,
}

impl RateUsed {
    /// Whether nothing is due at this rate.
    pub(super) fn is_nothing(&self) -> bool {
        self.percent == Percent::ZERO && self.per_kg.is_zero() && self.per_piece.is_zero()
    }
}

/// What a row that can serve goods says: its layer, its condition, its rate.
pub(super) type Said<'a> = (&'a str, &'a str, Percent, Dec, Dec);

/// A rate row, prepared.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub(super) origin: String,
    pub(super) test: Test,
    /// The condition in the table's words; empty where it always holds.
    said: String,
    conditional: bool,
    pub(super) rate: RateUsed,
    pub(super) stamp: Provenance,
    /// It ended before the day, no row follows it, and what followed is not known: it gives no rate, and is said.
    pub(super) ended: bool,
    /// Its place among the rows of the table.
    serial: usize,
}

/// A row of rates, and whether it ended and left unknown what followed.
pub(super) type Served<'a, T> = (&'a Dated<T>, bool);

/// Rates by layer and prefix.
#[derive(Debug, Clone, Default)]
pub(crate) struct RateTable {
    layers: BTreeMap<String, BTreeMap<String, Vec<Candidate>>>,
    any_ended: bool,
    rows: usize,
}

impl RateTable {
    /// Indexes the rows of duty in force, and those that ended.
    pub(super) fn tariff<'a>(
        rows: impl Iterator<Item = Served<'a, TariffRow>>,
        names: &Names,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<RateTable, Overflow> {
        let mut table = RateTable::default();
        for (row, ended) in rows {
            let rate = row
                .rule
                .currency
                .and_then(|c| rates.get(&c.into()))
                .copied()
                .unwrap_or(Rate::SAME);
            let amount = |own: Option<Dec>| own.map_or(Ok(Dec::ZERO), |own| rate.convert(own));
            let candidate = Candidate {
                origin: row.rule.origin.clone(),
                test: Test::prepare(&row.rule.when, names, rates)?,
                said: row.rule.when.to_string(),
                conditional: !row.rule.when.is_always(),
                rate: RateUsed {
                    percent: row.rule.percent.unwrap_or(Percent::ZERO),
                    per_kg: amount(row.rule.per_kg)?,
                    per_piece: amount(row.rule.per_piece)?,
                    row: Some(row.stamp.row.clone()),
                },
                stamp: row.stamp.clone(),
                ended,
                serial: 0,
            };
            table.insert(&row.rule.layer, &row.rule.commodity, candidate);
        }
        Ok(table)
    }

    /// Indexes the rows of tax in force in a country and region; a region's row replaces the country's.
    pub(super) fn taxes<'a>(
        rows: impl Iterator<Item = Served<'a, TaxRow>>,
        country: &str,
        region: &str,
    ) -> RateTable {
        let mut table = RateTable::default();
        let here = |r: &TaxRow| r.country == country && (r.region.is_empty() || r.region == region);
        for (row, ended) in rows.filter(|(row, _)| here(&row.rule)) {
            let rate = RateUsed {
                percent: row.rule.percent,
                per_kg: Dec::ZERO,
                per_piece: Dec::ZERO,
                row: Some(row.stamp.row.clone()),
            };
            let conditional = !row.rule.region.is_empty();
            let stamp = row.stamp.clone();
            let candidate = Candidate {
                origin: "*".to_owned(),
                test: Test::default(),
                said: String::new(),
                conditional,
                rate,
                stamp,
                ended,
                serial: 0,
            };
            table.insert(&row.rule.tax, &row.rule.commodity, candidate);
        }
        table
    }

    fn insert(&mut self, layer: &str, commodity: &str, mut candidate: Candidate) {
        candidate.serial = self.rows;
        self.rows += 1;
        self.any_ended = self.any_ended || candidate.ended;
        let prefix = if commodity == "*" { "" } else { commodity };
        if !self.layers.contains_key(layer) {
            self.layers.insert(layer.to_owned(), BTreeMap::new());
        }
        let Some(prefixes) = self.layers.get_mut(layer) else {
            return;
        };
        match prefixes.get_mut(prefix) {
            None => {
                prefixes.insert(prefix.to_owned(), vec![candidate]);
            }
            Some(found) => {
                // those with a condition first, each kind in the order of the table
                let place = if candidate.conditional {
                    found.partition_point(|other| other.conditional)
                } else {
                    found.len()
                };
                found.insert(place, candidate);
            }
        }
    }

    /// The rows of a layer that can serve a line, the one that says most about it first: the longest prefix, then its
    /// origin, its group, any origin; a conditional row before one that always holds.
    pub(super) fn candidates<'a>(
        &'a self,
        layer: &str,
        line: &'a Line,
        groups: &'a BTreeMap<String, String>,
    ) -> impl Iterator<Item = (&'a Test, &'a RateUsed, &'a Provenance)> {
        let in_force = fitting(self.layers.get(layer), line, groups).filter(|(_, row)| !row.ended);
        in_force.map(|(_, row)| (&row.test, &row.rate, &row.stamp))
    }

    /// The rows that can serve any of the lines, in the order in which each line looks at its own, and which lines each can
    /// serve; `alike` gives for each line the first that is the same to rules.
    pub(super) fn in_order<'a>(
        &'a self,
        from: &RateFrom,
        (lines, alike): (&'a [Line], &[usize]),
        groups: &'a BTreeMap<String, String>,
        with_ended: bool,
    ) -> Vec<(&'a Candidate, Vec<bool>)> {
        let mut found: BTreeMap<_, (&'a Candidate, Vec<bool>)> = BTreeMap::new();
        for (nth, layer) in layers_of(from).iter().enumerate() {
            let firsts = lines.iter().enumerate().filter(|(at, _)| alike[*at] == *at);
            for (at, line) in firsts {
                for (length, row) in fitting(self.layers.get(layer), line, groups)
                    .filter(|(_, row)| with_ended || !row.ended)
                {
                    let origin = if row.origin == "*" {
                        2
                    } else {
                        u8::from(row.origin != line.origin)
                    };
                    let key = (
                        nth,
                        std::cmp::Reverse(length),
                        line.commodity.get(..length),
                        origin,
                        !row.conditional,
                        row.serial,
                    );
                    let (_, serves) = found
                        .entry(key)
                        .or_insert_with(|| (row, vec![false; lines.len()]));
                    if let Some(serves) = serves.get_mut(at) {
                        *serves = true;
                    }
                }
            }
        }
        let mut found: Vec<_> = found.into_values().collect();
        for (_, serves) in &mut found {
            for (at, first) in alike.iter().enumerate() {
                serves[at] = serves[*first];
            }
        }
        found
    }

    /// Whether any row of it ended and left unknown what followed.
    pub(super) fn has_ended(&self) -> bool {
        self.any_ended
    }

    /// Prefixes longer than these digits that begin with them, of rows in force.
    pub(super) fn beyond<'a>(&'a self, digits: &'a str) -> impl Iterator<Item = &'a str> {
        self.layers.values().flat_map(move |prefixes| {
            let longer = prefixes
                .range::<str, _>((Excluded(digits), Unbounded))
                .take_while(move |(prefix, _)| prefix.starts_with(digits));
            longer
                .filter(|(_, rows)| rows.iter().any(|row| !row.ended))
                .map(|(prefix, _)| prefix.as_str())
        })
    }

    /// Whether a row in force names exactly these digits.
    pub(super) fn names(&self, digits: &str) -> bool {
        self.layers
            .values()
            .filter_map(|prefixes| prefixes.get(digits))
            .flatten()
            .any(|row| !row.ended)
    }

    /// What every layer says of a line, and the rows of it whose prefix has more than `digits` digits, with their layers.
    pub(super) fn said<'a>(
        &'a self,
        line: &'a Line,
        groups: &'a BTreeMap<String, String>,
        digits: usize,
    ) -> (Vec<Said<'a>>, Vec<(&'a str, &'a RowRef)>) {
        let (mut said, mut rows) = (Vec::new(), Vec::new());
        for (layer, prefixes) in &self.layers {
            for (length, row) in fitting(Some(prefixes), line, groups).filter(|(_, row)| !row.ended)
            {
                said.push((
                    layer.as_str(),
                    row.said.as_str(),
                    row.rate.percent,
                    row.rate.per_kg,
                    row.rate.per_piece,
                ));
                rows.extend(
                    row.rate
                        .row
                        .as_ref()
                        .filter(|_| length > digits)
                        .map(|row| (layer.as_str(), row)),
                );
                if row.said.is_empty() {
                    break;
                }
            }
        }
        (said, rows)
    }

    /// The rate of a line in a layer, with the row's provenance.
    pub(super) fn find<'a>(
        &'a self,
        layer: &str,
        line: &'a Line,
        at: usize,
        facts: Facts<'a>,
    ) -> Result<Option<(RateUsed, &'a Provenance)>, Overflow> {
        for (test, rate, stamp) in self.candidates(layer, line, facts.groups) {
            if test.holds(facts, at)? {
                return Ok(Some((rate.clone(), stamp)));
            }
        }
        Ok(None)
    }

    /// The rate a charge takes: the first of its layers that has one.
    pub(super) fn of_charge<'a>(
        &'a self,
        from: &RateFrom,
        line: &'a Line,
        at: usize,
        facts: Facts<'a>,
    ) -> Result<Option<(RateUsed, &'a Provenance)>, Overflow> {
        for layer in layers_of(from) {
            if let Some(found) = self.find(layer, line, at, facts)? {
                return Ok(Some(found));
            }
        }
        Ok(None)
    }

    /// Origins other than the line's own under which a layer names a rate for its goods.
    pub(super) fn other_origins<'a>(
        &'a self,
        layer: &str,
        line: &'a Line,
    ) -> impl Iterator<Item = &'a str> {
        let prefixes = self.layers.get(layer).into_iter().flatten();
        let rows = prefixes
            .filter(|(prefix, _)| line.commodity.starts_with(prefix.as_str()))
            .flat_map(|(_, rows)| rows);
        rows.filter(|row| !row.ended)
            .map(|row| row.origin.as_str())
            .filter(|origin| *origin != "*" && *origin != line.origin)
    }

    /// Facts of a line's goods that nobody has told, each with the value under which a row of a layer would serve it: rows that ask for
    /// one such fact alone.
    pub(super) fn facts_open<'a>(
        &'a self,
        layer: &str,
        line: &'a Line,
        groups: &'a BTreeMap<String, String>,
    ) -> impl Iterator<Item = (&'a str, &'a str)> {
        let rows = fitting(self.layers.get(layer), line, groups);
        let sides = rows
            .filter(|(_, row)| !row.ended)
            .flat_map(|(_, row)| &row.test.any);
        let asked = sides.filter_map(|side| {
            let mut told = side.iter().filter_map(|clause| match &clause.subject {
                Subject::Trait(name) if clause.op == Op::Equal => {
                    Some((name.as_str(), clause.word.as_str()))
                }
                _ => None,
            });
            told.next().filter(|_| told.next().is_none())
        });
        asked.filter(|(name, _)| !line.traits.contains_key(*name))
    }

    /// Whether any layer knows these digits beyond the sixth.
    pub(super) fn knows(&self, digits: &str) -> bool {
        let meets = |p: &str| p.len() > 6 && (digits.starts_with(p) || p.starts_with(digits));
        let met = self.layers.values().flatten().filter(|(p, _)| meets(p));
        let mut rows = met.flat_map(|(_, rows)| rows);
        digits.len() <= 6 || rows.any(|row| !row.ended)
    }
}

/// The rows of a layer that can serve a line, with the length of their prefix, in the order of
/// [`RateTable::candidates`].
fn fitting<'a>(
    prefixes: Option<&'a BTreeMap<String, Vec<Candidate>>>,
    line: &'a Line,
    groups: &'a BTreeMap<String, String>,
) -> impl Iterator<Item = (usize, &'a Candidate)> {
    let group = groups.get(&line.origin).map_or("", String::as_str);
    let lengths = (0..=line.commodity.len()).rev();
    let rows = lengths
        .filter_map(move |length| Some((length, prefixes?.get(line.commodity.get(..length)?)?)));
    let by_origin = rows.flat_map(move |rows| {
        [line.origin.as_str(), group, "*"]
            .into_iter()
            .map(move |origin| (rows, origin))
    });
    let named = by_origin.filter(|(_, origin)| !origin.is_empty());
    named.flat_map(|((length, rows), origin)| {
        rows.iter()
            .filter(move |row| row.origin == origin)
            .map(move |row| (length, row))
    })
}

/// The layers a charge looks in, in their order; a tax is a layer of its own.
pub(super) fn layers_of(from: &RateFrom) -> &[String] {
    match from {
        RateFrom::Tariff(layers) => layers.as_slice(),
        RateFrom::Taxes(tax) => std::slice::from_ref(tax),
    }
}
