//! How figures are shown to others: as money, or, where prices are hidden, as a share of the whole.

use super::show::Show;
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

    /// A text without sums of money where prices are hidden: figures with decimals are left out.
    pub fn text(&self, text: &str) -> String {
        if self.hidden.is_some() { without_sums(text) } else { text.to_owned() }
    }
}

fn share(amount: Dec, whole: Dec) -> String {
    let percent = amount.times(Dec::HUNDRED).and_then(|hundred| hundred.over(whole));
    percent.map_or_else(|_| "-".to_owned(), |percent| format!("{} %", percent.fixed(1)))
}

/// Words that stand beside a currency's code are sums, and so are figures with decimals that no percent sign follows.
fn without_sums(text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let code = |word: Option<&&str>| {
        word.is_some_and(|w| crate::units::Currency::parse(w.trim_matches(|c: char| !c.is_ascii_alphabetic())).is_some())
    };
    let percent = |word: Option<&&str>| word.is_some_and(|w| w.starts_with('%'));
    let figure = |word: &str| word.chars().any(|c| c.is_ascii_digit());
    let decimals = |word: &str| word.trim_end_matches([',', ';', ':', '.']).contains('.') && !word.contains('/') && !word.contains('_');
    let mut out = Vec::with_capacity(words.len());
    for (at, word) in words.iter().enumerate() {
        let beside = code(words.get(at + 1)) || (at > 0 && code(words.get(at - 1)) && !word.contains('-'));
        let sum = figure(word) && !percent(words.get(at + 1)) && (beside || decimals(word));
        let tail: String = word.chars().rev().take_while(|c| matches!(c, ',' | ';' | ':' | '.' | ')')).collect();
        out.push(if sum { format!("…{}", tail.chars().rev().collect::<String>()) } else { (*word).to_owned() });
    }
    out.join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_are_left_out_and_the_rest_stays() {
        for (text, veiled) in [
            ("if made in TW, 12.40 GBP less", "if made in TW, … GBP less"),
            ("many cards take 2 to 3 % on foreign money", "many cards take 2 to 3 % on foreign money"),
            ("2.5 % of 1,204.00, at least 12.50.", "2.5 % of …, at least …."),
            ("rates/gb/tariff.csv:12 of 2026-09-23", "rates/gb/tariff.csv:12 of 2026-09-23"),
            ("below the 135 GBP limit", "below the … GBP limit"),
        ] {
            assert_eq!(without_sums(text), veiled);
        }
    }
}
