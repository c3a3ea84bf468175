//! How a cell looks, as far as it says what its number is: a percentage, a day, an amount in a currency; and whether it is
//! struck out.

use crate::book::Unit;
use crate::units::Currency;

/// What a format makes of a number.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) enum Kind {
    /// A number.
    #[default]
    Plain,
    /// A percentage: 0.2 is shown as 20 %.
    Percent,
    /// A day or a time.
    Day,
    /// An amount, with this sign or code.
    Money(String),
    /// A mass in this unit.
    Mass(Unit),
}

/// How a cell looks.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct Look {
    pub(super) kind: Kind,
    pub(super) struck: bool,
}

/// What a number format means: by its code where the file gives one, else by the number that stands for it everywhere
/// (ECMA-376 part 1, 18.8.30). Formats of money that go by such a number have the sign of the reader's country, and say nothing.
pub(super) fn kind(id: usize, code: Option<&str>) -> Kind {
    match (code, id) {
        (Some(code), _) => kind_of(code),
        (None, 9 | 10) => Kind::Percent,
        (None, 14..=22 | 27..=36 | 45..=47 | 50..=58) => Kind::Day,
        (None, _) => Kind::Plain,
    }
}

/// The same for a code: what stands in its first section, quoted texts and signs apart.
fn kind_of(code: &str) -> Kind {
    let mut letters = code.chars();
    let mut words: Vec<String> = vec![String::new()];
    let mut found = Kind::Plain;
    while let Some(letter) = letters.next() {
        let said: String = match letter {
            ';' => break,
            '\\' => letters.next().into_iter().collect(),
            '"' => letters.by_ref().take_while(|c| *c != '"').collect(),
            '[' => {
                let inner: String = letters.by_ref().take_while(|c| *c != ']').collect();
                found = if is_span_of_time(&inner) {
                    Kind::Day
                } else {
                    found
                };
                sign_of(&inner).to_owned()
            }
            '_' | '*' => {
                letters.next();
                String::new()
            }
            '%' => {
                found = Kind::Percent;
                String::new()
            }
            'd' | 'm' | 'y' | 'h' | 's' | 'D' | 'M' | 'Y' | 'H' | 'S' => {
                found = if found == Kind::Percent {
                    found
                } else {
                    Kind::Day
                };
                String::new()
            }
            '$' | '€' | '£' | '¥' => letter.to_string(),
            _ => String::new(),
        };
        match words.last_mut() {
            Some(word) if !said.is_empty() => word.push_str(&said),
            _ => words.push(String::new()),
        }
    }
    match found {
        Kind::Plain => kind_by_words(&words, code),
        found => found,
    }
}

/// Whether brackets hold hours, minutes or seconds that are counted on over a day.
fn is_span_of_time(inner: &str) -> bool {
    let is_unit = |c: char| matches!(c.to_ascii_lowercase(), 'h' | 'm' | 's');
    !inner.is_empty() && inner.chars().all(is_unit)
}

/// The sign of a currency in brackets, as in `[$CHF-807]`; nothing for colours and conditions.
fn sign_of(inner: &str) -> &str {
    let sign = inner.strip_prefix('$').unwrap_or("");
    sign.split_once('-').map_or(sign, |(sign, _)| sign)
}

/// What quoted texts and signs say a number is.
fn kind_by_words(words: &[String], code: &str) -> Kind {
    let sign = words
        .iter()
        .map(|word| word.trim())
        .find(|word| !Currency::readings(word).is_empty());
    if let Some(sign) = sign {
        return Kind::Money(sign.to_owned());
    }
    match words.iter().find_map(|word| Unit::named(word)) {
        // a comma behind the figures shows a thousandth of what is there
        Some(Unit::Kilogram) if shows_thousandths(code) => Kind::Mass(Unit::Gram),
        found => found.map_or(Kind::Plain, Kind::Mass),
    }
}

/// Whether a format has a comma that stands between no figures.
fn shows_thousandths(code: &str) -> bool {
    let letters: Vec<char> = code.chars().collect();
    let figure =
        |letter: Option<&char>| letter.is_some_and(|letter| matches!(letter, '0' | '#' | '?'));
    letters.iter().enumerate().any(|(at, letter)| {
        *letter == ','
            && figure(at.checked_sub(1).and_then(|before| letters.get(before)))
            && !figure(letters.get(at + 1))
    })
}

/// The unit of mass beside the figure of a shown number.
pub(super) fn unit_beside(shown: &str) -> Option<Unit> {
    Unit::named(shown.trim_start_matches(|c: char| !c.is_alphabetic()))
}

/// The sign or code beside the figures of a shown amount, when it is one of a currency.
pub(super) fn sign_beside(shown: &str) -> Option<String> {
    let figure = |c: char| {
        c.is_ascii_digit()
            || matches!(
                c,
                '.' | ',' | '-' | '\'' | '(' | ')' | '\u{a0}' | '\u{202f}'
            )
            || c.is_whitespace()
    };
    let sign = shown.trim_matches(figure);
    (!Currency::readings(sign).is_empty()).then(|| sign.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn formats_say_what_a_number_is() {
        let money = |sign: &str| Kind::Money(sign.to_owned());
        for (code, kind) in [
            ("General", Kind::Plain),
            ("#,##0.00", Kind::Plain),
            ("0.00\" g\"", Kind::Mass(Unit::Gram)),
            ("0.0 \"kg\"", Kind::Mass(Unit::Kilogram)),
            ("0.0\\ \\k\\g;-0.0", Kind::Mass(Unit::Kilogram)),
            ("0.0,\" kg\"", Kind::Mass(Unit::Gram)),
            ("#,##0.0 \"kg\"", Kind::Mass(Unit::Kilogram)),
            ("0 \"lb\"", Kind::Mass(Unit::Imperial("lb"))),
            ("0.0%", Kind::Percent),
            ("0\\ %", Kind::Percent),
            ("yyyy\\-mm\\-dd", Kind::Day),
            ("[h]:mm", Kind::Day),
            ("dd/mm/yyyy", Kind::Day),
            ("[$€-407]#,##0.00", money("€")),
            (
                "#,##0.00\\ [$€-407];[RED]\\-#,##0.00\\ [$€-407]",
                money("€"),
            ),
            ("\\£#,##0.00", money("£")),
            ("\"$\"#,##0.00", money("$")),
            ("_(\"$\"* #,##0.00_);_(\"$\"* \\(#,##0.00\\)", money("$")),
            ("[$USD] #,##0.00", money("USD")),
            ("#,##0.00\\ \"CHF\"", money("CHF")),
            ("[$-409]d\\-mmm\\-yy", Kind::Day),
            ("[Red]#,##0", Kind::Plain),
        ] {
            assert_eq!(kind_of(code), kind, "{code}");
        }
        assert_eq!(
            [kind(9, None), kind(14, None), kind(4, None)],
            [Kind::Percent, Kind::Day, Kind::Plain]
        );
    }

    #[test]
    fn a_shown_amount_has_its_sign_beside_it() {
        for (shown, sign) in [
            ("£72.00", Some("£")),
            ("72,00\u{a0}€", Some("€")),
            ("-1,200.00 USD", Some("USD")),
            ("1486", None),
            ("34 g", None),
        ] {
            assert_eq!(sign_beside(shown).as_deref(), sign, "{shown}");
        }
    }
}
