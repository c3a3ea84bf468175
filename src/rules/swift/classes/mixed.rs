//! Goods whose digits stop above rows that differ: the courses that could be theirs, as one course of several classes. Where
//! zeros at the end of digits only fill them up on some days, the course on those days is that of the digits without them.

use std::collections::BTreeMap;
use std::ops::Bound::{Included, Unbounded};

use super::{Course, TariffTimeline, classes_on};
use crate::rules::open::{cuts, unpadded};
use crate::rules::program::{Occasion, conditions};
use crate::tables::{Condition, Law, LineFact, Subject, TaxRow};
use crate::units::{Date, Span};

/// Digits that rows of rates, or conditions on a commodity, name, with the days on which they do; none for those of a condition
/// that looks at the day of ordering.
pub(super) type Named = BTreeMap<String, Vec<Option<Span>>>;

/// What rows name at a destination.
pub(super) fn named(law: &Law, at: &Occasion<'_>) -> Named {
    let mut named = Named::new();
    let mut note = |digits: &str, days: Option<Span>| {
        if digits != "*" {
            named.entry(digits.to_owned()).or_default().push(days);
        }
    };
    for row in law.tariff.iter().filter(|row| row.stamp.counts()) {
        if row.rule.when.can_hold_at(at.to, at.group) {
            let days = (!row.rule.when.looks_at_order_day()).then_some(row.stamp.span);
            note(&row.rule.commodity, days);
        }
    }
    let here =
        |row: &TaxRow| row.country == at.to && (row.region.is_empty() || row.region == at.region);
    for row in law.taxes.iter().filter(|row| row.stamp.counts()) {
        if here(&row.rule) {
            note(&row.rule.commodity, Some(row.stamp.span));
        }
    }
    for (stamp, when) in conditions(law).filter(|(stamp, _)| stamp.counts()) {
        if when.can_hold_at(at.to, at.group) {
            let days = (!when.looks_at_order_day()).then_some(stamp.span);
            let words = when
                .conditions()
                .filter(|c| c.subject == Subject::Line(LineFact::Commodity));
            words.for_each(|c| note(&c.word, days));
        }
    }
    named
}

impl TariffTimeline {
    /// Digits named that begin with these and are longer.
    fn beyond(&self, commodity: &str) -> Vec<String> {
        let longer = self.named_from(commodity).map(|(digits, _)| digits);
        longer
            .filter(|digits| *digits != commodity)
            .cloned()
            .collect()
    }

    /// Digits named that begin with these.
    fn named_from<'a>(
        &'a self,
        commodity: &'a str,
    ) -> impl Iterator<Item = (&'a String, &'a Vec<Option<Span>>)> {
        let from = self.named.range::<str, _>((Included(commodity), Unbounded));
        from.take_while(move |(digits, _)| !commodity.is_empty() && digits.starts_with(commodity))
    }

    /// On which days the class of goods changes: the number of the course they share with all goods alike.
    pub(crate) fn course(&mut self, commodity: &str, origin: &str) -> u32 {
        let shortest = cuts(commodity).last();
        match shortest.filter(|shortest| !self.beyond(shortest).is_empty()) {
            Some(shortest) => self.filled_up(commodity, shortest, origin),
            None => self.open_course(commodity, origin),
        }
    }

    /// The course of digits as they are. Those that stop above rows which differ could have several courses; theirs holds the
    /// classes of all.
    fn open_course(&mut self, commodity: &str, origin: &str) -> u32 {
        let mut ways = vec![self.course_of(commodity, origin)];
        for digits in self.beyond(commodity) {
            let way = self.course_of(&digits, origin);
            if !ways.contains(&way) {
                ways.push(way);
            }
        }
        match ways.as_slice() {
            [only] => *only,
            ways => {
                let told: Vec<u32> = [u32::MAX, 0].iter().chain(ways).copied().collect();
                self.told.find(told.as_slice()).unwrap_or_else(|digest| {
                    let mixed = self.mix(ways);
                    self.courses.push(mixed);
                    self.told.keep(digest, told)
                })
            }
        }
    }

    /// The course of digits whose zeros at the end may only fill them up: that of what they are on each day.
    fn filled_up(&mut self, commodity: &str, shortest: &str, origin: &str) -> u32 {
        let named = self.named_from(shortest);
        let named: Option<Vec<(String, Span)>> = named
            .flat_map(|(digits, spans)| spans.iter().map(|span| Some((digits.clone(), (*span)?))))
            .collect();
        let Some(named) = named else {
            return self.decimals();
        };
        let mut days: Vec<Date> = named.iter().flat_map(|(_, span)| span.turns()).collect();
        days.sort_unstable();
        days.dedup();
        let mut ways = vec![(None, self.open_course(commodity, origin))];
        for day in days {
            let digits = unpadded_on(commodity, &named, day);
            let way = self.open_course(digits, origin);
            if ways.last().is_none_or(|(_, last)| *last != way) {
                ways.push((Some(day), way));
            }
        }
        if let [(_, only)] = ways.as_slice() {
            return *only;
        }
        let told = ways
            .iter()
            .flat_map(|(from, way)| [day_number(*from), *way]);
        let told: Vec<u32> = [u32::MAX, 2].into_iter().chain(told).collect();
        self.told.find(told.as_slice()).unwrap_or_else(|digest| {
            let joined = self.join(&ways);
            self.courses.push(joined);
            self.told.keep(digest, told)
        })
    }

    /// The course that is each of these from its day on.
    fn join(&self, ways: &[(Option<Date>, u32)]) -> Course {
        let mut joined = Course::new();
        for (at, (from, way)) in ways.iter().enumerate() {
            let Some(course) = usize::try_from(*way)
                .ok()
                .and_then(|way| self.courses.get(way))
            else {
                continue;
            };
            let until = ways.get(at + 1).and_then(|(next, _)| *next);
            let later =
                |day: Option<Date>| day > *from && until.is_none_or(|until| day < Some(until));
            joined.push((*from, classes_on(course, *from).map(Box::from)));
            joined.extend(course.iter().filter(|(day, _)| later(*day)).cloned());
        }
        joined
    }

    /// The course of goods that whole numbers do not serve.
    fn decimals(&mut self) -> u32 {
        let told = vec![u32::MAX, 1];
        self.told.find(told.as_slice()).unwrap_or_else(|digest| {
            self.courses.push(vec![(None, None)]);
            self.told.keep(digest, told)
        })
    }

    /// The course of digits that could have each of these.
    fn mix(&self, ways: &[u32]) -> Course {
        let courses: Vec<&Course> = ways
            .iter()
            .filter_map(|way| self.courses.get(usize::try_from(*way).ok()?))
            .collect();
        let mut days: Vec<Option<Date>> = courses
            .iter()
            .flat_map(|course| course.iter().map(|(start, _)| *start))
            .collect();
        days.sort_unstable();
        days.dedup();
        let on = |day: &Option<Date>| {
            let mut classes: Vec<u32> = Vec::new();
            for course in &courses {
                let found = classes_on(course, *day)?;
                found.iter().for_each(|class| {
                    if !classes.contains(class) {
                        classes.push(*class);
                    }
                });
            }
            Some(classes.into_boxed_slice())
        };
        days.iter().map(|day| (*day, on(day))).collect()
    }
}

/// The digits beyond the sixth that conditions of rows name, which are known while their rows are in force.
pub(super) fn asked_beyond_six(law: &Law) -> impl Iterator<Item = (&str, Span)> {
    let of_goods = |c: &&Condition| {
        c.subject == Subject::Line(LineFact::Commodity) && c.word.len() > super::INTERNATIONAL
    };
    let named = conditions(law)
        .filter(|(stamp, _)| stamp.counts())
        .flat_map(move |(stamp, when)| when.conditions().map(move |c| (c, stamp.span)));
    named
        .filter(move |(c, _)| of_goods(c))
        .map(|(c, span)| (c.word.as_str(), span))
}

/// A day as a number, above all of which stands the time before any day.
fn day_number(day: Option<Date>) -> u32 {
    let since = day.and_then(|day| u32::try_from(day.days_since(Date::FIRST)).ok());
    since.unwrap_or(u32::MAX)
}

/// Digits without the zeros that only fill them up, by what is named on a day.
fn unpadded_on<'d>(digits: &'d str, named: &[(String, Span)], day: Date) -> &'d str {
    let on_the_day = || {
        let held = named.iter().filter(|(_, span)| span.holds(day));
        held.map(|(own, _)| own.as_str())
    };
    let lies_above =
        |cut: &str| on_the_day().any(|own| own.len() > cut.len() && own.starts_with(cut));
    unpadded(digits, lies_above, |cut| on_the_day().any(|own| own == cut))
}
