//! Goods whose digits stop above rows that differ: the courses that could be theirs, as one course of several classes. Digits
//! filled up with noughts that may stop above such rows on some day have no course.

use super::{Course, TariffTimeline};
use crate::rules::open::cuts;
use crate::rules::program::{Occasion, conditions};
use crate::tables::{Condition, Dated, Law, LineFact, Subject, TaxRow};
use crate::units::{Date, Span};

impl TariffTimeline {
    /// Digits that rows of rates, or conditions on a commodity, name.
    pub(super) fn names(&self, law: &Law, at: &Occasion<'_>) -> Vec<String> {
        let tariff = law
            .tariff
            .iter()
            .filter(|r| r.stamp.counts() && r.rule.when.can_hold_at(at.to, at.group));
        let here = |r: &&Dated<TaxRow>| r.stamp.counts() && r.rule.country == at.to;
        let rows = tariff
            .map(|r| &r.rule.commodity)
            .chain(law.taxes.iter().filter(here).map(|r| &r.rule.commodity));
        let asked = self
            .asked
            .iter()
            .filter(|clause| clause.subject == Subject::Line(LineFact::Commodity))
            .map(|clause| &clause.word);
        let mut named: Vec<String> = rows
            .filter(|digits| *digits != "*")
            .chain(asked)
            .cloned()
            .collect();
        named.sort_unstable();
        named.dedup();
        named
    }

    /// Digits named that begin with these and are longer.
    fn beyond(&self, commodity: &str) -> Vec<String> {
        if commodity.is_empty() {
            return Vec::new();
        }
        let from = self
            .named
            .partition_point(|digits| digits.as_str() <= commodity);
        self.named
            .iter()
            .skip(from)
            .take_while(|digits| digits.starts_with(commodity))
            .cloned()
            .collect()
    }

    /// On which days the class of goods changes: the number of the course they share with all goods alike. Digits that stop
    /// above rows which differ could have several courses; theirs holds the classes of all.
    pub(crate) fn course(&mut self, commodity: &str, origin: &str) -> u32 {
        if self.may_be_filled_up(commodity) {
            return self.decimals();
        }
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

    /// Whether noughts at the end of digits only fill them up, by the rows of some day, so that they stop above other rows: the
    /// decimal program asks the rows of the day itself.
    fn may_be_filled_up(&self, commodity: &str) -> bool {
        let Some(shortest) = cuts(commodity).last() else {
            return false;
        };
        let below = self.beyond(shortest);
        if below.is_empty() || !self.beyond(commodity).is_empty() {
            return false;
        }
        for cut in std::iter::once(commodity).chain(cuts(commodity)) {
            if below
                .iter()
                .any(|digits| digits.len() > cut.len() && digits.starts_with(cut))
            {
                return true;
            }
            if self.holds_throughout(cut, shortest, &below) {
                return false;
            }
        }
        false
    }

    /// Whether one unconditional row of exactly these digits is in force on every day that any row below the shortest is.
    fn holds_throughout(&self, digits: &str, shortest: &str, below: &[String]) -> bool {
        let tariff = || {
            self.law
                .tariff
                .iter()
                .filter(|r| r.stamp.counts() && r.rule.commodity.starts_with(shortest))
        };
        let taxes = self
            .law
            .taxes
            .iter()
            .filter(|r| r.rule.country == self.to && r.rule.commodity.starts_with(shortest));
        let rows: Vec<(&str, Span)> = tariff()
            .map(|r| (r.rule.commodity.as_str(), r.stamp.span))
            .chain(taxes.map(|r| (r.rule.commodity.as_str(), r.stamp.span)))
            .collect();
        // what only a condition names has days of its own
        let all_rows = below
            .iter()
            .all(|word| rows.iter().any(|(named, _)| named == word));
        let mut own = tariff()
            .filter(|r| r.rule.commodity == digits && r.rule.when.is_always())
            .map(|r| r.stamp.span);
        all_rows && own.any(|own| rows.iter().all(|(_, span)| within(span, &own)))
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
                let found = course
                    .iter()
                    .rev()
                    .find(|(start, _)| start <= day)?
                    .1
                    .as_deref()?;
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

/// Whether every day of one span is one of the other's.
fn within(inner: &Span, outer: &Span) -> bool {
    let begins = outer
        .from
        .is_none_or(|from| inner.from.is_some_and(|own| own >= from));
    begins
        && outer
            .to
            .is_none_or(|to| inner.to.is_some_and(|own| own <= to))
}
