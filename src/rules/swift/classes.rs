//! Goods that bear the same: which rows of tariff and tax serve a commodity from an origin on a day, and one number for all
//! goods whose rows say the same.
//!
//! A law of thousands of rows knows tens of thousands of goods and few classes of them: a [`IntegerProgram`] is made once for a class,
//! and a line needs only its goods' class on its day. Rows whose amounts move with the exchange, or whose condition looks at
//! a day, belong to no class, and the caller goes by the decimal program.

mod mixed;

use std::collections::BTreeMap;
use std::sync::Arc;

use super::IntegerProgram;
use crate::rules::condition::Clause;
use crate::rules::ledger::Names;
use crate::rules::parcel::Parcel;
use crate::rules::program::{Occasion, Program, conditions};
use crate::tables::{
    After, Condition, Dated, Law, LineFact, ParcelFact, Provenance, Subject, TariffRow, TaxRow,
    When,
};
use crate::units::{Currency, Date, Dec, Lookup, Once, Percent, Span};

/// A tariff layer or a tax, the rate and the condition of a row, and whether it ended and left unknown what followed; rows
/// alike in these bear the same.
type Kind = (
    bool,
    String,
    Option<Percent>,
    Option<Dec>,
    Option<Dec>,
    String,
    bool,
);

/// The digits beyond which a commodity is national.
const INTERNATIONAL: usize = 6;

/// The rates of a law, by goods.
pub(crate) struct TariffTimeline {
    law: Arc<Law>,
    to: String,
    region: String,
    currency: Currency,
    groups: BTreeMap<String, String>,
    by_prefix: Lookup,
    shelves: Vec<Vec<Entry>>,
    /// One bit for each length that a prefix has.
    lengths: u32,
    layers: BTreeMap<(bool, String), u32>,
    origins: BTreeMap<String, u32>,
    /// What rows call each country of origin: by its own name, and by its group's.
    ranks: BTreeMap<String, (Option<u32>, Option<u32>)>,
    kinds: BTreeMap<Kind, u32>,
    /// What rules ask of a commodity or an origin.
    asked: Vec<Clause>,
    /// Days of prefixes beyond six digits, where it matters whether the tables know a commodity's.
    national: BTreeMap<String, Vec<Span>>,
    known: BTreeMap<Vec<u32>, u32>,
    examples: Vec<Example>,
    /// Goods that the same rows can serve have one course, by its number among the courses; what could have several courses has
    /// a mark before them that no goods have.
    told: Once<Vec<u32>>,
    courses: Vec<Course>,
    named: mixed::Named,
    room: Room,
}

/// The classes of goods from each of these days on: one, or those that could be theirs where their digits stop above rows
/// which differ, what the digits are as they stand first. None where whole numbers do not serve.
type Course = Vec<(Option<Date>, Option<Box<[u32]>>)>;

/// Room for what is found about goods, kept from one to the next.
#[derive(Default)]
struct Room {
    candidates: Vec<Candidate>,
    /// The rows that can serve, and what else tells goods apart.
    told: Vec<u32>,
    days: Vec<Option<Date>>,
    key: Vec<u32>,
    rows: Vec<Row>,
}

/// A row on the shelf of its prefix.
#[derive(Debug, Clone, Copy)]
struct Entry {
    layer: u32,
    kind: u32,
    origin: u32,
    row: Row,
    span: Span,
    always: bool,
    plain: bool,
}

#[derive(Debug, Clone, Copy)]
enum Row {
    Tariff(usize, bool),
    Tax(usize, bool),
}

/// A row that can serve: its layer, how little it says about the goods, and where it was met.
type Candidate = (u32, u32, Entry);

/// Goods of a class, and their rows.
struct Example {
    commodity: String,
    origin: String,
    rows: Vec<Row>,
}

impl TariffTimeline {
    /// Puts the rows of a law on their shelves.
    pub(crate) fn new(
        law: Arc<Law>,
        at: &Occasion<'_>,
        groups: BTreeMap<String, String>,
    ) -> TariffTimeline {
        let mut classes = TariffTimeline {
            to: at.to.to_owned(),
            region: at.region.to_owned(),
            currency: at.currency,
            groups,
            by_prefix: Lookup::default(),
            shelves: Vec::new(),
            lengths: 0,
            layers: BTreeMap::new(),
            origins: BTreeMap::from([("*".to_owned(), 0)]),
            ranks: BTreeMap::new(),
            kinds: BTreeMap::new(),
            asked: Vec::new(),
            national: BTreeMap::new(),
            known: BTreeMap::new(),
            examples: Vec::new(),
            told: Once::default(),
            courses: Vec::new(),
            named: mixed::named(&law, at),
            room: Room::default(),
            law: law.clone(),
        };
        for (row, tariff) in law.tariff.iter().enumerate() {
            if tariff.stamp.counts() && tariff.rule.when.can_hold_at(at.to, at.group) {
                for (ended, span) in served(&tariff.stamp, tariff.rule.after) {
                    classes.shelve_tariff(row, tariff, ended, span);
                }
            }
        }
        let here =
            |r: &TaxRow| r.country == at.to && (r.region.is_empty() || r.region == at.region);
        for (row, tax) in law.taxes.iter().enumerate() {
            if tax.stamp.counts() && here(&tax.rule) {
                for (ended, span) in served(&tax.stamp, tax.rule.after) {
                    classes.shelve_tax(row, tax, ended, span);
                }
            }
        }
        classes.ask(&law);
        classes.rank();
        classes
    }

    fn rank(&mut self) {
        let own = |(name, number): (&String, &_)| (name.clone(), (Some(*number), None));
        self.ranks = self.origins.iter().map(own).collect();
        for (country, group) in &self.groups {
            if let Some(number) = self.origins.get(group) {
                self.ranks.entry(country.clone()).or_default().1 = Some(*number);
            }
        }
    }

    fn shelve_tariff(&mut self, row: usize, found: &Dated<TariffRow>, ended: bool, span: Span) {
        let rule = &found.rule;
        let own_money =
            |currency: Option<Currency>| currency.is_none_or(|currency| currency == self.currency);
        let of_a_day = |c: &Condition| {
            matches!(
                c.subject,
                Subject::Parcel(ParcelFact::Ordered | ParcelFact::Arrival)
            )
        };
        let plain = own_money(rule.currency)
            && rule
                .when
                .conditions()
                .all(|c| own_money(c.currency.map(|coin| coin.currency)) && !of_a_day(c));
        let kind = (
            false,
            rule.layer.clone(),
            rule.percent,
            rule.per_kg,
            rule.per_piece,
            rule.when.to_string(),
            ended,
        );
        let entry = Entry {
            layer: number_of(&mut self.layers, (false, rule.layer.clone())),
            kind: number_of(&mut self.kinds, kind),
            origin: number_of(&mut self.origins, rule.origin.clone()),
            row: Row::Tariff(row, ended),
            span,
            always: rule.when.is_always() && !ended,
            plain,
        };
        self.shelve(&rule.commodity, entry);
    }

    fn shelve_tax(&mut self, row: usize, found: &Dated<TaxRow>, ended: bool, span: Span) {
        let rule = &found.rule;
        let entry = Entry {
            layer: number_of(&mut self.layers, (true, rule.tax.clone())),
            kind: number_of(
                &mut self.kinds,
                (
                    true,
                    rule.tax.clone(),
                    Some(rule.percent),
                    None,
                    None,
                    rule.region.clone(),
                    ended,
                ),
            ),
            origin: 0,
            row: Row::Tax(row, ended),
            span,
            always: !ended,
            plain: true,
        };
        self.shelve(&rule.commodity, entry);
    }

    fn shelve(&mut self, commodity: &str, entry: Entry) {
        let prefix = if commodity == "*" { "" } else { commodity };
        let Some(code) = code_of(prefix) else { return };
        self.lengths |= 1_u32
            .checked_shl(u32::try_from(prefix.len()).unwrap_or(31))
            .unwrap_or(0);
        let shelf = self.by_prefix.get(code).unwrap_or_else(|| {
            let next = u32::try_from(self.shelves.len()).unwrap_or(u32::MAX);
            self.shelves.push(Vec::new());
            self.by_prefix.insert(code, next);
            next
        });
        if let Some(shelf) = self
            .shelves
            .get_mut(usize::try_from(shelf).unwrap_or(usize::MAX))
        {
            shelf.push(entry);
        }
    }

    /// Notes what rules ask of goods, and whether a commodity's national digits can matter beyond the row that bears them.
    fn ask(&mut self, law: &Law) {
        let of_goods = |c: &&Condition| {
            matches!(
                c.subject,
                Subject::Line(LineFact::Commodity | LineFact::Origin)
            )
        };
        let mut asked: Vec<&Condition> = Vec::new();
        let whens = conditions(law).map(|(_, when)| when);
        for condition in whens.flat_map(When::conditions).filter(of_goods) {
            if !asked.contains(&condition) {
                asked.push(condition);
            }
        }
        let long = |c: &&Condition| {
            c.subject == Subject::Line(LineFact::Commodity) && c.word.len() > INTERNATIONAL
        };
        if asked.iter().any(long)
            || law
                .taxes
                .iter()
                .any(|r| r.rule.commodity.len() > INTERNATIONAL)
        {
            for row in law
                .tariff
                .iter()
                .filter(|r| r.stamp.counts() && r.rule.commodity.len() > INTERNATIONAL)
            {
                self.national
                    .entry(row.rule.commodity.clone())
                    .or_default()
                    .push(row.stamp.span);
            }
        }
        mixed::asked_beyond_six(law)
            .for_each(|(word, span)| self.national.entry(word.to_owned()).or_default().push(span));
        let names = Names::new();
        self.asked = asked
            .into_iter()
            .filter_map(|c| Clause::prepare(c, &names, &BTreeMap::new()).ok())
            .collect();
    }

    /// The classes of goods of a course on a day: one, or those that could be theirs; none where whole numbers do not serve.
    #[inline]
    pub(crate) fn on(&self, course: u32, day: Date) -> Option<&[u32]> {
        classes_on(self.courses.get(usize::try_from(course).ok()?)?, Some(day))
    }

    /// How many courses have been met.
    pub(crate) fn courses(&self) -> usize {
        self.courses.len()
    }

    fn course_of(&mut self, commodity: &str, origin: &str) -> u32 {
        let mut room = std::mem::take(&mut self.room);
        self.candidates(commodity, origin, &mut room.candidates);
        self.tell(commodity, origin, &mut room);
        let course = self
            .told
            .find(room.told.as_slice())
            .unwrap_or_else(|digest| {
                let course = self.days(commodity, origin, &mut room);
                self.courses.push(course);
                self.told.keep(digest, room.told.clone())
            });
        self.room = room;
        course
    }

    /// What the course of goods hangs on: the rows in their order, what rules ask, and the commodity itself where it
    /// matters whether the tables know its national digits.
    fn tell(&self, commodity: &str, origin: &str, room: &mut Room) {
        let number = |row: usize| u32::try_from(row).unwrap_or(u32::MAX);
        room.told.clear();
        room.told
            .extend(room.candidates.iter().map(|(_, _, entry)| match entry.row {
                Row::Tariff(row, _) => number(row) << 1,
                Row::Tax(row, _) => number(row) << 1 | 1,
            }));
        room.told.push(u32::MAX);
        self.answers(commodity, origin, &mut room.told);
        if !self.national.is_empty() {
            room.told.extend(commodity.bytes().map(u32::from));
        }
    }

    fn days(&mut self, commodity: &str, origin: &str, room: &mut Room) -> Course {
        let national = self.spans_beyond_six(commodity);
        let spans = room
            .candidates
            .iter()
            .map(|(_, _, entry)| entry.span)
            .chain(national.iter().copied());
        room.days.clear();
        room.days.push(None);
        let changes = spans.flat_map(|span| span.turns());
        room.days.extend(changes.map(Some));
        room.days.sort_unstable();
        room.days.dedup();
        let mut course = Course::new();
        for at in 0..room.days.len() {
            let day = room.days.get(at).copied().flatten();
            let class = self
                .class(commodity, origin, day, &national, room)
                .map(|class| Box::from([class]));
            if course.last().is_none_or(|(_, last)| *last != class) {
                course.push((day, class));
            }
        }
        course
    }

    /// The rows that can serve goods on some day: by layer, the one that says most about them first.
    fn candidates(&self, commodity: &str, origin: &str, found: &mut Vec<Candidate>) {
        found.clear();
        let (own, group) = self.ranks.get(origin).copied().unwrap_or_default();
        let digits = commodity
            .bytes()
            .map(|digit| u64::from(digit.wrapping_sub(b'0')));
        let codes = std::iter::once(1).chain(digits.scan(1_u64, |code, digit| {
            *code = code.checked_mul(10)?.checked_add(digit)?;
            Some(*code)
        }));
        for (length, code) in codes
            .enumerate()
            .filter(|(length, _)| self.lengths & (1 << length) != 0)
        {
            let shelf = self
                .by_prefix
                .get(code)
                .and_then(|shelf| self.shelves.get(usize::try_from(shelf).ok()?));
            for entry in shelf.into_iter().flatten() {
                let rank = match entry.origin {
                    origin if Some(origin) == own => 0,
                    origin if Some(origin) == group => 1,
                    0 => 2,
                    _ => continue,
                };
                let little = u32::try_from(commodity.len() - length).unwrap_or(u32::MAX) * 4 + rank;
                found.push((entry.layer, little, *entry));
            }
        }
        found.sort_by_key(|(layer, little, _)| (*layer, *little));
    }

    fn spans_beyond_six(&self, commodity: &str) -> Vec<Span> {
        if self.national.is_empty() || commodity.len() <= INTERNATIONAL {
            return Vec::new();
        }
        let below = self
            .national
            .range(commodity.to_owned()..)
            .take_while(|(prefix, _)| prefix.starts_with(commodity));
        let above = (INTERNATIONAL + 1..commodity.len())
            .filter_map(|length| self.national.get(commodity.get(..length)?));
        below
            .map(|(_, spans)| spans)
            .chain(above)
            .flatten()
            .copied()
            .collect()
    }

    fn class(
        &mut self,
        commodity: &str,
        origin: &str,
        day: Option<Date>,
        national: &[Span],
        room: &mut Room,
    ) -> Option<u32> {
        let in_force = |span: &Span| day.is_some_and(|day| span.holds(day));
        room.key.clear();
        room.rows.clear();
        let mut closed: Option<(u32, u32)> = None;
        for (layer, little, entry) in room
            .candidates
            .iter()
            .filter(|(_, _, entry)| in_force(&entry.span))
        {
            if closed.is_some_and(|(over, at)| over == *layer && at != *little) {
                continue;
            }
            if !entry.plain {
                return None;
            }
            room.key.push(entry.kind);
            room.rows.push(entry.row);
            if entry.always {
                closed = Some((*layer, *little));
            }
        }
        let cut = !self.national.is_empty()
            && commodity.len() > INTERNATIONAL
            && !national.iter().any(in_force);
        let commodity = if cut {
            commodity.get(..INTERNATIONAL)?
        } else {
            commodity
        };
        self.answers(commodity, origin, &mut room.key);
        // the example of goods that were cut does not fit rows beyond their sixth digit
        room.key.push(u32::from(cut));
        if let Some(class) = self.known.get(&room.key) {
            return Some(*class);
        }
        let class = u32::try_from(self.examples.len()).ok()?;
        self.known.insert(room.key.clone(), class);
        self.examples.push(Example {
            commodity: commodity.to_owned(),
            origin: origin.to_owned(),
            rows: room.rows.clone(),
        });
        Some(class)
    }

    /// What rules ask of goods, answered.
    fn answers(&self, commodity: &str, origin: &str, found: &mut Vec<u32>) {
        let holds =
            |clause: &Clause| u32::from(clause.holds_for_goods(commodity, origin, &self.groups));
        found.extend(self.asked.chunks(31).map(|asked| {
            asked
                .iter()
                .fold(1_u32, |bits, clause| bits << 1 | holds(clause))
        }));
    }

    /// How many classes have been met.
    pub(crate) fn len(&self) -> usize {
        self.examples.len()
    }

    /// Makes the program of a class: the frame of a day, a sample parcel with one line whose goods and amounts do not matter.
    pub(crate) fn swift(
        &self,
        class: u32,
        frame: &Program,
        mut sample: Parcel,
    ) -> Option<IntegerProgram> {
        let example = self.examples.get(usize::try_from(class).ok()?)?;
        let line = sample.lines.first_mut()?;
        line.commodity.clone_from(&example.commodity);
        line.origin.clone_from(&example.origin);
        let (mut tariff, mut taxes) = (Vec::new(), Vec::new());
        for row in &example.rows {
            match row {
                Row::Tariff(at, ended) => {
                    tariff.extend(self.law.tariff.get(*at).map(|row| (row, *ended)));
                }
                Row::Tax(at, ended) => {
                    taxes.extend(self.law.taxes.get(*at).map(|row| (row, *ended)));
                }
            }
        }
        let (tariff, taxes) = frame.rates(&tariff, &taxes, &self.to, &self.region).ok()?;
        IntegerProgram::build(frame, (&tariff, &taxes), &sample)
    }
}

/// The classes of a course on a day, or before all days.
#[inline]
fn classes_on(course: &Course, day: Option<Date>) -> Option<&[u32]> {
    let mut from_last = course.iter().rev();
    from_last.find(|(start, _)| *start <= day)?.1.as_deref()
}

/// The days on which a row serves, and those after it on which it is not known what followed.
fn served(stamp: &Provenance, after: After) -> impl Iterator<Item = (bool, Span)> {
    let gone = stamp.span.to.filter(|_| after == After::Unknown);
    std::iter::once((false, stamp.span)).chain(gone.map(|last| (true, since(last))))
}

/// The days after a last one.
fn since(last: Date) -> Span {
    Span {
        from: Some(last.plus_days(1)),
        to: None,
    }
}

/// Digits as a number that keeps their length.
fn code_of(digits: &str) -> Option<u64> {
    digits.bytes().try_fold(1_u64, |sum, digit| {
        sum.checked_mul(10)?
            .checked_add(u64::from(digit.checked_sub(b'0')?))
    })
}

fn number_of<K: Ord>(known: &mut BTreeMap<K, u32>, name: K) -> u32 {
    let next = u32::try_from(known.len()).unwrap_or(u32::MAX);
    *known.entry(name).or_insert(next)
}
