//! The money of an amount in the tables: `EUR`, or `EUR@october` for a limit that is turned once a year.

use std::fmt;

use crate::units::{Currency, Date};

/// A currency as a row names it, and by which rate an amount in it becomes the destination's money.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Coin {
    /// The currency.
    pub(crate) currency: Currency,
    /// It is turned at the rate of the first working day of October of the year before, not at the customs rate in force.
    pub(crate) october: bool,
}

/// What stands behind the code of a currency that is turned once a year.
const OCTOBER: &str = "@october";

impl Coin {
    /// Reads `EUR` or `EUR@october`.
    pub(crate) fn parse(text: &str) -> Result<Coin, String> {
        let (code, october) = text
            .strip_suffix(OCTOBER)
            .map_or((text, false), |code| (code, true));
        if code.contains('@') {
            return Err(format!(
                "expected a currency code such as `EUR`, or `EUR{OCTOBER}` for a limit that is turned once a year"
            ));
        }
        Ok(Coin {
            currency: currency(code)?,
            october,
        })
    }

    /// The amount's money in words: `EUR`, or `EUR at October's rate`.
    pub(crate) fn in_words(self) -> String {
        if self.october {
            format!("{} at October's rate", self.currency)
        } else {
            self.currency.to_string()
        }
    }
}

impl From<Currency> for Coin {
    fn from(currency: Currency) -> Coin {
        Coin {
            currency,
            october: false,
        }
    }
}

impl fmt::Display for Coin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{}{}",
            self.currency,
            if self.october { OCTOBER } else { "" }
        )
    }
}

/// The day whose rate holds for such limits in the year of a day: the first working day of October of the year before.
pub(crate) fn october_before(day: Date) -> Option<Date> {
    const SATURDAY: u32 = 5;
    let first = Date::new(day.year() - 1, 10, 1)?;
    Some(match first.weekday() {
        day if day >= SATURDAY => first.plus_days(7 - day),
        _ => first,
    })
}

/// A currency code.
pub(super) fn currency(text: &str) -> Result<Currency, String> {
    Currency::parse(text)
        .ok_or_else(|| "expected a currency code of ISO 4217, such as `USD`".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coins_read_and_print_alike() {
        for text in ["EUR", "EUR@october", "SEK"] {
            assert_eq!(Coin::parse(text).unwrap().to_string(), text);
        }
        for text in [
            "",
            "EUR@",
            "EUR@november",
            "@october",
            "EUR@october@october",
            "XYZ@october",
        ] {
            assert!(Coin::parse(text).is_err(), "{text:?}");
        }
    }

    #[test]
    fn the_first_working_day_of_october_is_never_a_saturday_or_sunday() {
        // 2022-10-01 was a Saturday, 2023-10-01 a Sunday, 2025-10-01 a Wednesday (the calendar)
        for (day, expected) in [
            ("2023-06-01", "2022-10-03"),
            ("2024-01-01", "2023-10-02"),
            ("2026-12-31", "2025-10-01"),
        ] {
            assert_eq!(
                october_before(Date::parse(day).unwrap())
                    .unwrap()
                    .to_string(),
                expected
            );
        }
    }
}
