//! How figures are shown to others: as money, or, where prices are hidden, as a share of the whole.

use super::show::Show;
use crate::landed::Caution;
use crate::units::Dec;

/// Figures of one result.
#[derive(Debug, Clone, Copy)]
pub struct Figures {
    /// The money.
    pub show: Show,
    /// What all shares are of, where prices are hidden.
    pub hidden: Option<Dec>,
}

impl Figures {
    /// The same for amounts that are in the money shown already.
    #[must_use]
    pub fn as_it_is(&self) -> Figures {
        let whole = |whole| self.show.rounded(whole).unwrap_or(whole);
        Figures { show: self.show.as_it_is(), hidden: self.hidden.map(whole) }
    }

    /// `1,912.40`, or `24.3 %` of the whole.
    pub fn amount(&self, amount: Dec) -> String {
        match self.hidden {
            None => self.show.amount(amount),
            Some(whole) => share(amount, whole),
        }
    }

    /// `1,912.40 GBP`, or `24.3 % of the whole`.
    pub fn money(&self, amount: Dec) -> String {
        match self.hidden {
            None => self.show.money(amount),
            Some(whole) => format!("{} of the whole", share(amount, whole)),
        }
    }

    /// What a caution says, without sums of money where prices are hidden.
    pub fn caution(&self, caution: &Caution) -> String {
        match (self.hidden, caution.id) {
            (None, _) => caution.text.clone(),
            (Some(_), "paid-otherwise") => {
                "another sum was paid than is reckoned: the first is in what is spent, the second in the landed cost".to_owned()
            }
            (Some(_), _) => without_sums(&caution.text),
        }
    }
}

fn share(amount: Dec, whole: Dec) -> String {
    let percent = amount.times(Dec::HUNDRED).and_then(|hundred| hundred.over(whole));
    percent.map_or_else(|_| "-".to_owned(), |percent| format!("{} %", percent.fixed(1)))
}

/// What follows a figure that is no money.
const UNITS: [&str; 9] = ["g", "kg", "mm", "cm", "km", "W", "days", "months", "pieces"];

/// Whether a word is a currency's code.
fn is_code(word: Option<&&str>) -> bool {
    word.is_some_and(|w| crate::units::Currency::parse(w.trim_matches(|c: char| !c.is_ascii_alphabetic())).is_some())
}

/// Whether a word is a sum of money: one beside a currency's code, one with its sign, and every figure with decimals or grouped
/// thousands that neither a percent sign nor another unit follows.
fn is_sum(words: &[&str], at: usize) -> bool {
    let Some(word) = words.get(at).filter(|word| word.chars().any(|c| c.is_ascii_digit())) else { return false };
    let next = words.get(at + 1);
    if next.is_some_and(|w| w.starts_with('%') || UNITS.contains(&w.trim_end_matches([',', ';', ':', '.', ')']))) {
        return false;
    }
    let bare = word.trim_end_matches([',', ';', ':', '.', ')']);
    let path = bare.contains('/') || bare.contains('_');
    let beside = is_code(next) || (at > 0 && is_code(words.get(at - 1)) && !word.contains('-'));
    let signed = word.chars().any(|c| matches!(c, '$' | '£' | '€' | '¥' | '₩'));
    beside || signed || (!path && (bare.contains('.') || bare.contains(',')))
}

/// A text in which `a sum` stands for each sum of money; where one only says how large a thing is, the thing alone stays.
fn without_sums(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut out: Vec<String> = Vec::with_capacity(words.len());
    let mut at = 0;
    while at < words.len() {
        let ahead = is_code(words.get(at)) && is_sum(&words, at + 1);
        if !is_sum(&words, at) && !ahead {
            out.push(words[at].to_owned());
            at += 1;
            continue;
        }
        let last = if ahead || is_code(words.get(at + 1)) { at + 1 } else { at };
        let tail: String = words[last].chars().rev().take_while(|c| matches!(c, ',' | ';' | ':' | '.' | ')')).collect();
        let tail: String = tail.chars().rev().collect();
        let within = tail.is_empty() && out.last().is_some_and(|word| matches!(word.as_str(), "the" | "a" | "an"));
        if !within {
            out.push(format!("a sum{tail}"));
        }
        at = last + 1;
    }
    out.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_left_out_and_the_rest_stays() {
        for (text, veiled) in [
            ("if made in TW, 12.40 GBP less", "if made in TW, a sum less"),
            ("many cards take 2 to 3 % on foreign money", "many cards take 2 to 3 % on foreign money"),
            ("2.5 % of 1,204.00, at least 12.50.", "2.5 % of a sum, at least a sum."),
            ("rates/gb/tariff.csv:12 of 2026-09-23", "rates/gb/tariff.csv:12 of 2026-09-23"),
            ("paid £1,299 and JPY 21800 for 8.5 kg", "paid a sum and a sum for 8.5 kg"),
            ("below the 135 GBP limit", "below the limit"),
        ] {
            assert_eq!(without_sums(text), veiled);
        }
    }
}
