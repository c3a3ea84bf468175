//! One destination's law, and its rules prepared once for each day they are needed.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;
use std::sync::Arc;

use super::question::Question;
use super::refusing::{no_charges, no_law, refused, unknown_region};
use super::what_if::WhatIf;
use crate::rules::{
    Codes, Occasion, Program, Programs, RowFilter, TariffTimeline, currencies, rows_beyond,
};
use crate::tables::{
    BorderFreight, Coin, CustomsExchange, Dated, Destination, Exchange, FreightStep, Law, PlaceRow,
    Quote, RowRef, SpreadRow, Tables, Use, When, october_before,
};
use crate::text::{Diagnostic, Problems};
use crate::units::{Currency, Date, Dec, Overflow, Percent, Rate, Span};

/// The rules of one day.
pub(crate) struct Prepared {
    /// The rows in order.
    pub(crate) program: Rc<Program>,
    /// What places' parts are.
    pub(crate) codes: Rc<Codes>,
    /// Limits whose rate of October is not in the tables, so that the customs rate in force stands in: the money and the day.
    pub(crate) limits_standing_in: Vec<(Currency, Date)>,
}

/// Days whose rules are kept at most, so that a list of many days takes no more room the longer it is.
const KEPT: usize = 64;

type Key = (Date, Date, RowFilter, Vec<(Currency, Dec)>);
type Cache = Rc<RefCell<BTreeMap<Key, Rc<Prepared>>>>;

/// Market rates by currency and day, as they are published.
type Quotes = Rc<RefCell<BTreeMap<(Currency, Date), Option<Quote>>>>;

/// The currencies that the rows of a day name.
type Named = Rc<RefCell<BTreeMap<(Date, Date, RowFilter), Rc<BTreeSet<Coin>>>>>;

/// What places' parts are, by the day of arrival and the rates of amounts that rows name.
type Classed = Rc<RefCell<Vec<(Date, BTreeMap<Coin, Rate>, Rc<Codes>)>>>;

/// A destination's law and the question asked of it.
pub struct Jurisdiction<'a> {
    /// All tables.
    pub(crate) tables: &'a Tables,
    /// The question.
    pub(crate) ask: &'a Question,
    /// The destination's row.
    pub(crate) destination: Destination,
    /// The region of delivery: the one asked for, or the one that the postcode lies in; empty for none.
    pub(crate) region: String,
    /// What is to be said of the territory of delivery, though it is calculated.
    pub of_territory: Option<String>,
    /// Its law.
    pub(crate) law: Arc<Law>,
    /// What is taken to be otherwise than the book and the tables say.
    pub(crate) what_if: WhatIf,
    /// What is strange in it and refuses nothing.
    pub(crate) warnings: Problems,
    places: Rc<BTreeMap<String, &'a PlaceRow>>,
    groups: Rc<BTreeMap<String, String>>,
    customs: Rc<Exchange>,
    prepared: Cache,
    programs: Rc<RefCell<Programs>>,
    named: Named,
    codes: Classed,
    quotes: Quotes,
}

/// A rate and whether it is the destination's own.
pub(crate) struct CustomsRate {
    /// The rate.
    pub(crate) quote: Quote,
    /// The market rate stands in for the customs rate.
    pub(crate) stands_in: bool,
}

impl<'a> Jurisdiction<'a> {
    /// Opens the jurisdiction: reads the destination's law, with every problem in it.
    pub fn open(tables: &'a Tables, ask: &'a Question) -> Result<Jurisdiction<'a>, Problems> {
        let mut problems = Problems::new();
        let destination = tables.destination(ask.to, ask.date);
        if let Some(refused) = refused(tables, ask, destination.is_some()) {
            problems.push(refused);
            return Err(problems);
        }
        let Some(row) = destination else {
            problems.push(no_law(tables, ask));
            return Err(problems);
        };
        let law = tables.law(&row.rule, &mut problems);
        let customs = tables.customs_rates(&row.rule, &mut problems);
        // where rows could not be read, that is what is wrong
        if law.is_empty() && !problems.refuse() {
            problems.push(no_charges(ask));
        }
        unknown_region(tables, ask, &law)
            .into_iter()
            .for_each(|unknown| problems.push(unknown));
        if problems.refuse() {
            return Err(problems);
        }
        Ok(Jurisdiction {
            warnings: problems,
            ..Jurisdiction::with(tables, ask, &row.rule, (Arc::new(law), customs))
        })
    }

    /// Another jurisdiction for the same question, with the law that one has read.
    pub(crate) fn beside(
        tables: &'a Tables,
        ask: &'a Question,
        law: Arc<Law>,
    ) -> Option<Jurisdiction<'a>> {
        let destination = &tables.destination(ask.to, ask.date)?.rule;
        let customs = tables.customs_rates(destination, &mut Problems::new());
        Some(Jurisdiction::with(tables, ask, destination, (law, customs)))
    }

    fn with(
        tables: &'a Tables,
        ask: &'a Question,
        destination: &Destination,
        (law, customs): (Arc<Law>, Exchange),
    ) -> Jurisdiction<'a> {
        let groups = tables
            .destinations
            .iter()
            .filter(|d| !d.rule.group.is_empty());
        let territory = tables
            .territory(ask.to, &ask.region, &ask.postcode, ask.date)
            .map(|row| &row.rule)
            .filter(|t| t.covered);
        let region = territory.map_or(&ask.region, |territory| &territory.region);
        Jurisdiction {
            tables,
            ask,
            destination: destination.clone(),
            region: region.clone(),
            of_territory: territory
                .filter(|t| !t.reason.is_empty())
                .map(|t| format!("{}: {}", t.name, t.reason)),
            law,
            what_if: WhatIf::default(),
            places: Rc::new(
                tables
                    .places_of(&ask.kind)
                    .into_iter()
                    .map(|row| (row.rule.place.clone(), &row.rule))
                    .collect(),
            ),
            groups: Rc::new(
                groups
                    .map(|d| (d.rule.country.code().to_owned(), d.rule.group.clone()))
                    .collect(),
            ),
            prepared: Cache::default(),
            programs: Rc::default(),
            named: Named::default(),
            codes: Classed::default(),
            quotes: Quotes::default(),
            warnings: Problems::new(),
            customs: Rc::new(customs),
        }
    }

    /// The same jurisdiction with something taken to be otherwise.
    #[must_use]
    pub(crate) fn supposing(&self, what_if: WhatIf) -> Jurisdiction<'a> {
        Jurisdiction {
            what_if,
            warnings: Problems::new(),
            law: self.law.clone(),
            destination: self.destination.clone(),
            region: self.region.clone(),
            of_territory: self.of_territory.clone(),
            places: self.places.clone(),
            groups: self.groups.clone(),
            customs: self.customs.clone(),
            prepared: self.prepared.clone(),
            programs: self.programs.clone(),
            named: self.named.clone(),
            codes: self.codes.clone(),
            quotes: self.quotes.clone(),
            ..*self
        }
    }

    /// The destination's money.
    pub(crate) fn currency(&self) -> Currency {
        self.destination.currency
    }

    /// The row of a place.
    pub(crate) fn place(&self, name: &str) -> Option<&'a PlaceRow> {
        self.places.get(name).copied()
    }

    /// The row of `spreads.csv` about something, in force on the day asked for.
    pub(crate) fn spread(&self, what: &str) -> Option<&'a Dated<SpreadRow>> {
        let day = self.ask.date;
        let mut rows = self.tables.spreads.iter();
        rows.find(|row| row.rule.what == what && row.stamp.in_force(day))
    }

    /// The names of all places.
    pub(crate) fn place_names(&self) -> impl Iterator<Item = &str> {
        self.places.keys().map(String::as_str)
    }

    /// Whether a parcel from there crosses no border.
    pub(crate) fn is_home(&self, dispatch: &str) -> bool {
        let group = self.groups.get(dispatch).map_or("", String::as_str);
        dispatch == self.ask.to.code() || (!group.is_empty() && group == self.destination.group)
    }

    /// What a country's customs group is.
    pub(crate) fn group(&self) -> &str {
        &self.destination.group
    }

    /// Whether a condition can hold at this destination at all: a group's folder holds rows of single members.
    pub(crate) fn can_hold(&self, when: &When) -> bool {
        when.can_hold_at(self.ask.to.code(), self.group())
    }

    /// The rate at which a coin of the tables is turned on a day, and the day in October whose rate is not known where it should have
    /// been that.
    fn rate_of(&self, coin: Coin, arrival: Date) -> Result<(Rate, Option<Date>), Diagnostic> {
        let october = october_before(arrival).filter(|_| coin.october);
        if let Some(day) = october
            && let Some(fixed) = self.october_rate(coin.currency, day)?
        {
            return Ok((fixed, None));
        }
        let customs = self.customs_rate(coin.currency, arrival)?;
        Ok((customs.quote.rate, october))
    }

    /// The rules of a day, prepared when first asked for.
    pub(crate) fn prepared(
        &self,
        ordered: Date,
        arrival: Date,
        counting: RowFilter,
    ) -> Result<Rc<Prepared>, Diagnostic> {
        let occasion = self.occasion(ordered, arrival, counting);
        let named = self.named(&occasion);
        let key = (
            ordered,
            arrival,
            counting,
            self.what_if
                .moves_of(|| named.iter().map(|coin| coin.currency)),
        );
        if let Some(found) = self.prepared.borrow().get(&key) {
            return Ok(found.clone());
        }
        let (mut rates, mut limits_standing_in) = (BTreeMap::new(), Vec::new());
        for coin in named.iter().copied() {
            let (rate, missing) = self.rate_of(coin, arrival)?;
            rates.insert(coin, rate);
            limits_standing_in.extend(missing.map(|day| (coin.currency, day)));
        }
        let program =
            (self.programs.borrow_mut()).prepare(&self.law, &occasion, &rates, &self.groups)?;
        let codes = self.codes(&occasion, &rates)?;
        let found = Rc::new(Prepared {
            program,
            codes,
            limits_standing_in,
        });
        let mut prepared = self.prepared.borrow_mut();
        if prepared.len() == KEPT {
            prepared.clear();
        }
        prepared.insert(key, found.clone());
        Ok(found)
    }

    /// What places' parts are on a day: the same for all days of ordering and whichever rows count.
    fn codes(
        &self,
        occasion: &Occasion<'_>,
        rates: &BTreeMap<Coin, Rate>,
    ) -> Result<Rc<Codes>, Overflow> {
        let mut known = self.codes.borrow_mut();
        let same = |(day, at, _): &&(Date, BTreeMap<Coin, Rate>, Rc<Codes>)| {
            *day == occasion.arrival && at == rates
        };
        if let Some((_, _, codes)) = known.iter().find(same) {
            return Ok(codes.clone());
        }
        let codes = Rc::new(Codes::prepare(&self.law, occasion, rates)?);
        if known.len() == KEPT {
            known.remove(0);
        }
        known.push((occasion.arrival, rates.clone(), codes.clone()));
        Ok(codes)
    }

    /// The currencies that the rows of an occasion name, found once.
    fn named(&self, occasion: &Occasion<'_>) -> Rc<BTreeSet<Coin>> {
        let key = (occasion.ordered, occasion.arrival, occasion.counting);
        if let Some(found) = self.named.borrow().get(&key) {
            return found.clone();
        }
        let found = Rc::new(currencies(&self.law, occasion));
        self.named.borrow_mut().insert(key, found.clone());
        found
    }

    fn occasion(&self, ordered: Date, arrival: Date, counting: RowFilter) -> Occasion<'_> {
        Occasion {
            to: self.ask.to.code(),
            group: self.group(),
            region: &self.region,
            currency: self.currency(),
            ordered,
            arrival,
            counting,
        }
    }

    /// The charges and reliefs of a day without rates, for price lists; none where their amounts move with the exchange.
    pub(crate) fn without_rates(&self, ordered: Date, arrival: Date) -> Option<Program> {
        Program::without_rates(
            &self.law,
            &self.occasion(ordered, arrival, RowFilter::ALL),
            (*self.groups).clone(),
        )
        .ok()
        .flatten()
    }

    /// The rows beyond digits that stop above rows which differ, for goods from an origin on a day.
    pub(crate) fn rows_beyond(
        &self,
        (ordered, arrival): (Date, Date),
        goods: (&str, &str),
    ) -> Result<Vec<RowRef>, Overflow> {
        let at = self.occasion(ordered, arrival, RowFilter::ALL);
        rows_beyond(&self.law, &at, (*self.groups).clone(), goods)
    }

    /// The rates of the law by goods, for price lists.
    pub(crate) fn classes(&self) -> TariffTimeline {
        let day = self.ask.date;
        TariffTimeline::new(
            self.law.clone(),
            &self.occasion(day, day, RowFilter::ALL),
            (*self.groups).clone(),
        )
    }

    /// The first day whose rates a supposition moves.
    fn moves_from(&self) -> Date {
        self.what_if.from.unwrap_or(self.ask.date)
    }

    /// The market rate into the destination's money on a day.
    pub(crate) fn market_rate(&self, from: Currency, day: Date) -> Result<Quote, Diagnostic> {
        let quote = self
            .published_market(from, day)?
            .ok_or_else(|| no_rate(from, self.currency(), day))?;
        Ok(self.moved(quote, from, day)?)
    }

    /// A rate of a day as a supposition moves it.
    fn moved(&self, quote: Quote, from: Currency, day: Date) -> Result<Quote, Overflow> {
        if day >= self.moves_from() {
            self.what_if.moved(quote, from)
        } else {
            Ok(quote)
        }
    }

    /// The market rate that is published, looked for once: a book asks for the same few again and again.
    fn published_market(&self, from: Currency, day: Date) -> Result<Option<Quote>, Overflow> {
        if let Some(found) = self.quotes.borrow().get(&(from, day)) {
            return Ok(found.clone());
        }
        let exchange = &self.tables.exchange;
        let found = exchange.quote(Use::Market, from, self.currency(), day)?;
        self.quotes.borrow_mut().insert((from, day), found.clone());
        Ok(found)
    }

    /// The market rate alone, where nothing is supposed of its day.
    pub(crate) fn market(&self, from: Currency, day: Date) -> Result<Rate, Diagnostic> {
        let exchange = &self.tables.exchange;
        if day < self.moves_from()
            && let Some(rate) = exchange.rate(Use::Market, from, self.currency(), day)?
        {
            return Ok(rate);
        }
        Ok(self.market_rate(from, day)?.rate)
    }

    /// The customs rate into the destination's money on the day of arrival; where its own is not in the tables, the
    /// market rate stands in.
    pub(crate) fn customs_rate(
        &self,
        from: Currency,
        arrival: Date,
    ) -> Result<CustomsRate, Diagnostic> {
        let own = match self.destination.exchange {
            CustomsExchange::Market => None,
            CustomsExchange::EcbMonth => match self.published_customs(from, arrival)? {
                Some(quote) => Some(quote),
                None => self.month_rate(from, arrival)?,
            },
            CustomsExchange::AsListed => self.published_customs(from, arrival)?,
        };
        if let Some(quote) = own {
            return Ok(CustomsRate {
                quote: self.moved(quote, from, arrival)?,
                stands_in: false,
            });
        }
        let stands_in =
            from != self.currency() && self.destination.exchange != CustomsExchange::Market;
        Ok(CustomsRate {
            quote: self.market_rate(from, arrival)?,
            stands_in,
        })
    }

    /// The rate that turns limits for a whole year: the one published on the first working day of October of the year before.
    /// None when that day is not among the published ones.
    fn october_rate(&self, from: Currency, day: Date) -> Result<Option<Rate>, Diagnostic> {
        let published = self.published_market(from, day)?;
        let of_the_day = published.filter(|quote| quote.day == Some(day));
        let rate = of_the_day.map(|quote| Ok(self.moved(quote, from, day)?.rate));
        rate.transpose()
    }

    /// What the user's rows say, what the destination's own customs published, or what rows say without naming whose they are.
    fn published_customs(
        &self,
        from: Currency,
        arrival: Date,
    ) -> Result<Option<Quote>, Diagnostic> {
        let (common, money) = (&self.tables.exchange, self.currency());
        let typed = common.is_users(Use::Customs, from, money, arrival)
            && !self.customs.is_users(Use::Customs, from, money, arrival);
        let own = if typed {
            None
        } else {
            self.customs.quote(Use::Customs, from, money, arrival)?
        };
        Ok(own.or_else(|| common.customs_of_nobody(from, money, arrival)))
    }

    /// The Union's customs rate of a month: what the European Central Bank published on the second-last Wednesday of the
    /// month before, or last before that day (Implementing Regulation (EU) 2015/2447 article 146). None when that day is
    /// not among the published ones.
    pub(crate) fn month_rate(
        &self,
        from: Currency,
        arrival: Date,
    ) -> Result<Option<Quote>, Diagnostic> {
        let day = customs_wednesday(arrival);
        let quote = self
            .tables
            .exchange
            .quote(Use::Market, from, self.currency(), day)?;
        let published = |quote: &Quote| quote.day.is_none_or(|found| day.days_since(found) <= 7);
        Ok(quote.filter(published))
    }

    /// The share of the freight that counts up to the border; all of it where no row says otherwise.
    pub(crate) fn border_freight(&self, channel: &str, dispatch: &str, day: Date) -> Percent {
        self.border_row(channel, dispatch, day)
            .map_or(Percent(Dec::HUNDRED), |row| row.rule.percent)
    }

    /// The row of that share which says most about the parcel.
    pub(crate) fn border_row(
        &self,
        channel: &str,
        dispatch: &str,
        day: Date,
    ) -> Option<&'a Dated<BorderFreight>> {
        let country = |text: &str| {
            is(text, self.ask.to.code()) || (!self.group().is_empty() && text == self.group())
        };
        let rows = self
            .tables
            .border_freight
            .iter()
            .filter(|r| r.stamp.in_force(day));
        let fitting = rows.filter(|r| {
            country(&r.rule.country)
                && is(&r.rule.channel, channel)
                && is(&r.rule.dispatch, dispatch)
        });
        let exact = |text: &str| u32::from(text != "*");
        fitting.max_by_key(|r| {
            let own = u32::from(r.rule.country == self.ask.to.code());
            (
                own,
                exact(&r.rule.country),
                exact(&r.rule.dispatch),
                exact(&r.rule.channel),
            )
        })
    }

    /// The steps of a freight schedule for a parcel, by mass; empty when there is no such schedule.
    pub(crate) fn schedule(
        &self,
        name: &str,
        dispatch: &str,
        channel: &str,
        day: Date,
    ) -> Vec<&'a FreightStep> {
        let rows = self.schedule_rows(name, dispatch, channel, day);
        rows.into_iter().map(|row| &row.rule).collect()
    }

    /// The same with what is behind each step.
    pub(crate) fn schedule_rows(
        &self,
        name: &str,
        dispatch: &str,
        channel: &str,
        day: Date,
    ) -> Vec<&'a Dated<FreightStep>> {
        let mut rows = self.steps_of(name, dispatch, channel);
        rows.retain(|row| row.stamp.in_force(day));
        rows.sort_by_key(|row| (row.rule.up_to_g.is_none(), row.rule.up_to_g));
        rows
    }

    /// The days on which a freight schedule serves such a parcel.
    pub(crate) fn schedule_spans(&self, name: &str, dispatch: &str, channel: &str) -> Vec<Span> {
        let rows = self.steps_of(name, dispatch, channel);
        rows.into_iter()
            .filter(|row| row.stamp.counts())
            .map(|row| row.stamp.span)
            .collect()
    }

    /// The steps of a schedule for a parcel, whatever the day.
    fn steps_of(&self, name: &str, dispatch: &str, channel: &str) -> Vec<&'a Dated<FreightStep>> {
        let here = |r: &&Dated<FreightStep>| {
            is(&r.rule.destination, self.ask.to.code()) || r.rule.destination == self.group()
        };
        let rows = self.tables.freight_of(name).iter().filter(here);
        rows.filter(|r| is(&r.rule.dispatch, dispatch) && is(&r.rule.channel, channel))
            .collect()
    }
}

/// Whether a cell names something, or everything.
fn is(text: &str, own: &str) -> bool {
    text == "*" || text == own
}

/// The second-last Wednesday of the month before a day.
pub(crate) fn customs_wednesday(day: Date) -> Date {
    const WEDNESDAY: u32 = 2;
    let last = day.minus_days(day.day());
    let last_wednesday = last.minus_days((last.weekday() + 7 - WEDNESDAY) % 7);
    last_wednesday.minus_days(7)
}

/// A missing rate shows the row to add.
pub(crate) fn no_rate(from: Currency, to: Currency, day: Date) -> Diagnostic {
    let base = if to == Currency::EUR { to } else { from };
    let quote = if base == from { to } else { from };
    Diagnostic::error(format!("there is no market rate from {from} to {to} on or before {day}"))
        .note("the built-in rates are the European Central Bank's from 2025-01-02 on")
        .help(format!("put this row, with the rate in it, into `exchange.csv` in a folder named by `rates`:\n\nuse,base,quote,rate,valid_from\nmarket,{base},{quote},RATE,{day}"))
}
