//! Exchange by day and currency, found once.

use std::collections::BTreeMap;

use super::BadLine;
use super::lane::Lane;
use crate::landed::Desk;
use crate::rules::WholeRate;
use crate::units::{Currency, Date};

/// The rates of one day in whole numbers; none where they have too many digits for that.
#[derive(Debug, Clone, Copy)]
pub(super) struct Day {
    pub(super) market: Option<WholeRate>,
    pub(super) customs: Option<WholeRate>,
}

/// All days met so far.
#[derive(Default)]
pub(super) struct Days {
    known: BTreeMap<(Date, Currency, u32), Day>,
    last: Option<((Date, Currency, u32), Day)>,
}

impl Days {
    /// The rates of a line: the market's of its day, customs' of its arrival.
    pub(super) fn of(&mut self, date: Date, lane: &Lane, desk: &Desk<'_>) -> Result<Day, BadLine> {
        let key = (date, lane.currency, lane.transit);
        if let Some((_, day)) = self.last.filter(|(last, _)| *last == key) {
            return Ok(day);
        }
        let day = match self.known.get(&key) {
            Some(day) => *day,
            None => {
                let found = Day::find(date, lane, desk)?;
                self.known.insert(key, found);
                found
            }
        };
        self.last = Some((key, day));
        Ok(day)
    }
}

impl Day {
    fn find(date: Date, lane: &Lane, desk: &Desk<'_>) -> Result<Day, BadLine> {
        let missing = |problem: crate::text::Diagnostic| BadLine::new("currency", problem.message);
        let market = desk.market_rate(lane.currency, date).map_err(missing)?;
        let customs = desk.customs_rate(lane.currency, date.plus_days(lane.transit)).map_err(missing)?;
        Ok(Day { market: WholeRate::new(market.rate), customs: WholeRate::new(customs.quote.rate) })
    }
}
