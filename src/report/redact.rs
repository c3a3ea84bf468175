//! How figures are shown to others: as money, or, where prices are hidden, as steps of shares of the whole.
//!
//! A share alone gives the whole away as soon as one amount is known to everybody, as a carrier's published fee is. So shares
//! are told in steps, each a fifth wide or wider, a thing is told once and not again with a charge of known percentage on it, and
//! what is drawn is drawn from the steps, never from the amounts.

use super::show::{Show, Shows};
use super::shown::{ShownLanded, ShownTotals};
use crate::landed::{Caution, ChargeBreakdown};
use crate::units::{Dec, Overflow, Rate, ShownMoney};

/// Where steps begin and end, in percent; above the last there is one more, without an end.
const EDGES: [u32; 18] = [
    1, 2, 3, 5, 7, 10, 15, 20, 30, 40, 50, 70, 100, 150, 200, 300, 500, 1000,
];

/// Figures of one result.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Figures {
    /// The money.
    pub(crate) show: Show,
    /// What all shares are of, where prices are hidden.
    pub(crate) hidden: Option<Dec>,
}

impl Figures {
    /// The same for amounts that are in the money shown already.
    #[must_use]
    pub(crate) fn as_it_is(&self) -> Figures {
        let whole = |whole| self.show.rounded(whole).unwrap_or(whole);
        Figures {
            show: self.show.as_it_is(),
            hidden: self.hidden.map(whole),
        }
    }

    /// The same for what [`Figures::step`] gives.
    #[must_use]
    pub(crate) fn of_steps(&self) -> Figures {
        match self.hidden {
            None => *self,
            Some(_) => Figures {
                show: Show {
                    rate: Rate::SAME,
                    ..self.show
                },
                hidden: Some(Dec::HUNDRED),
            },
        }
    }

    /// `1,912.40`, or `20 to 30 %` of the whole.
    pub(crate) fn amount(&self, amount: impl Shows) -> String {
        match self.hidden {
            None => self.show.amount(amount),
            Some(whole) => share(amount.bare(), whole).map_or_else(|_| "-".to_owned(), in_words),
        }
    }

    /// `1,912.40 GBP`, or `20 to 30 % of the whole`.
    pub(crate) fn money(&self, amount: impl Shows) -> String {
        match self.hidden {
            None => self.show.money(amount),
            Some(_) => format!("{} of the whole", self.amount(amount)),
        }
    }

    /// What may be drawn of an amount: the amount, or where prices are hidden the middle of its step, in percent of the whole.
    pub(crate) fn step(&self, amount: Dec) -> Result<Dec, Overflow> {
        let Some(whole) = self.hidden else {
            return Ok(amount);
        };
        let percent = if whole.is_zero() {
            Dec::ZERO
        } else {
            share(amount, whole)?
        };
        if percent.is_zero() || percent == Dec::HUNDRED {
            return Ok(percent);
        }
        let middle = match step(percent) {
            (from, Some(to)) => Dec::from(from + to).over(Dec::from(2_u32))?,
            (from, None) => Dec::from(from),
        };
        Ok(if percent.is_negative() {
            middle.negated()
        } else {
            middle
        })
    }

    /// What may be drawn of a landed cost whose amounts are in the money shown: where prices are hidden, the steps of what it is
    /// made of, and one for each part, without the charges on it.
    pub(crate) fn steps_of<'a>(
        &self,
        mut all: ShownLanded<'a>,
    ) -> Result<ShownLanded<'a>, Overflow> {
        if self.hidden.is_none() {
            return Ok(all);
        }
        let step = |amount: ShownMoney| self.step(amount.amount()).map(ShownMoney::of);
        for line in all.bills.iter_mut().flat_map(|bill| &mut bill.lines) {
            line.amounts = ChargeBreakdown {
                goods: step(line.amounts.landed()?)?,
                ..ChargeBreakdown::default()
            };
        }
        for held in &mut all.held {
            held.paid = held.paid.map(step).transpose()?;
        }
        let a = all.totals.amounts;
        let amounts = ChargeBreakdown {
            goods: step(a.net_goods()?)?,
            freight: step(a.freight.plus(a.insurance)?)?,
            duty: step(a.duty)?,
            remedy: step(a.remedy)?,
            tax_at_border: step(a.tax()?)?,
            handling: step(a.handling)?,
            card_fee: step(a.card_fee)?,
            ..ChargeBreakdown::default()
        };
        all.totals = ShownTotals {
            amounts,
            tags: amounts.goods,
            ..all.totals
        };
        Ok(all)
    }

    /// What a caution says, without sums of money where prices are hidden.
    pub(crate) fn caution(&self, caution: &Caution) -> String {
        match (self.hidden, caution.id) {
            (None, _) => caution.to_string(),
            (Some(_), "paid-otherwise") => {
                "You paid another sum than was estimated: `Already paid` counts the first, the landed cost the second".to_owned()
            }
            (Some(_), _) => without_sums(&format!("{}. {}", caution.text, caution.action)),
        }
    }
}

/// How many hundredths of the whole an amount is.
fn share(amount: Dec, whole: Dec) -> Result<Dec, Overflow> {
    amount.times(Dec::HUNDRED)?.over(whole)
}

/// The step that a percentage lies in, without its sign: from which edge to which.
fn step(percent: Dec) -> (u32, Option<u32>) {
    let above = EDGES
        .iter()
        .position(|edge| Dec::from(*edge) > percent.abs());
    let at = above.unwrap_or(EDGES.len());
    (
        at.checked_sub(1)
            .and_then(|at| EDGES.get(at))
            .copied()
            .unwrap_or(0),
        EDGES.get(at).copied(),
    )
}

/// The step of a percentage: `20 to 30 %`, `under 1 %`; nothing and the whole are no secret.
pub(super) fn in_words(percent: Dec) -> String {
    if percent.is_zero() || percent == Dec::HUNDRED {
        return format!("{} %", percent.fixed(0));
    }
    let sign = if percent.is_negative() { "minus " } else { "" };
    match step(percent) {
        (0, to) => format!("{sign}under {} %", to.unwrap_or_default()),
        (from, Some(to)) => format!("{sign}{from} to {to} %"),
        (from, None) => format!("{sign}over {from} %"),
    }
}

/// What follows a figure that is no money.
const UNITS: [&str; 9] = ["g", "kg", "mm", "cm", "km", "W", "days", "months", "pieces"];

/// Whether a word is a currency's code.
fn is_code(word: Option<&&str>) -> bool {
    word.is_some_and(|w| {
        crate::units::Currency::parse(w.trim_matches(|c: char| !c.is_ascii_alphabetic())).is_some()
    })
}

/// Whether a word is a sum of money: one beside a currency's code, one with its sign, and every figure with decimals or grouped
/// thousands that neither a percent sign nor another unit follows.
fn is_sum(words: &[&str], at: usize) -> bool {
    let Some(word) = words
        .get(at)
        .filter(|word| word.chars().any(|c| c.is_ascii_digit()))
    else {
        return false;
    };
    let next = words.get(at + 1);
    if next.is_some_and(|w| {
        w.starts_with('%') || UNITS.contains(&w.trim_end_matches([',', ';', ':', '.', ')']))
    }) {
        return false;
    }
    let bare = word.trim_end_matches([',', ';', ':', '.', ')']);
    let path = bare.contains('/') || bare.contains('_');
    let beside = is_code(next) || (at > 0 && is_code(words.get(at - 1)) && !word.contains('-'));
    let signed = word
        .chars()
        .any(|c| matches!(c, '$' | '£' | '€' | '¥' | '₩'));
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
        let last = if ahead || is_code(words.get(at + 1)) {
            at + 1
        } else {
            at
        };
        let tail: String = words[last]
            .chars()
            .rev()
            .take_while(|c| matches!(c, ',' | ';' | ':' | '.' | ')'))
            .collect();
        let tail: String = tail.chars().rev().collect();
        let within = tail.is_empty()
            && out
                .last()
                .is_some_and(|word| matches!(word.as_str(), "the" | "a" | "an"));
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
    use crate::tables::TaxName;
    use crate::units::Currency;

    #[test]
    fn no_step_is_narrower_than_a_fifth() {
        for pair in EDGES.windows(2) {
            assert!(
                pair[1] * 5 >= pair[0] * 6,
                "from {} to {}",
                pair[0],
                pair[1]
            );
        }
        // The same for every share that can be told: another of the same words is a fifth above it or below it.
        let percent = |tenths: u32| Dec::new(i64::from(tenths), 1);
        for tenths in (10..=12_000_u32).filter(|tenths| *tenths != 1000) {
            let alike = |other: u32| in_words(percent(other)) == in_words(percent(tenths));
            let (from, to) = step(percent(tenths));
            let (low, high) = (from * 10, to.map_or(20_000, |to| to * 10 - 1));
            assert!(
                alike(low + u32::from(low == 1000)) && alike(high) && low * 6 <= (high + 1) * 5,
                "{tenths} tenths"
            );
        }
    }

    #[test]
    fn what_is_drawn_is_the_middle_of_the_step_that_is_said() {
        let show = Show {
            currency: Currency::parse("GBP").unwrap(),
            rate: Rate::SAME,
            tax: TaxName::Vat,
        };
        let figures = Figures {
            show,
            hidden: Some(Dec::from(250_u32)),
        };
        let drawn = figures.of_steps();
        for (amount, said, middle) in [
            ("12.00", "3 to 5 %", "4"),
            ("-12.00", "minus 3 to 5 %", "-4"),
            ("1.00", "under 1 %", "0.5"),
            ("0", "0 %", "0"),
            ("250.00", "100 %", "100"),
            ("249.00", "70 to 100 %", "85"),
            ("9000.00", "over 1000 %", "1000"),
        ] {
            let amount = crate::units::number::plain(amount).unwrap();
            let step = figures.step(amount).unwrap();
            assert_eq!(
                (figures.amount(amount).as_str(), step.to_string().as_str()),
                (said, middle)
            );
            assert_eq!(drawn.amount(step), said, "the step of a step is the same");
        }
        assert_eq!(
            Figures { show, hidden: None }.step(Dec::ONE).unwrap(),
            Dec::ONE
        );
    }

    #[test]
    fn sums_are_left_out_and_the_rest_stays() {
        for (text, veiled) in [
            ("if made in TW, 12.40 GBP less", "if made in TW, a sum less"),
            (
                "many cards take 2 to 3 % on foreign money",
                "many cards take 2 to 3 % on foreign money",
            ),
            (
                "2.5 % of 1,204.00, at least 12.50.",
                "2.5 % of a sum, at least a sum.",
            ),
            (
                "rates/gb/tariff.csv:12 of 2026-09-23",
                "rates/gb/tariff.csv:12 of 2026-09-23",
            ),
            (
                "paid £1,299 and JPY 21800 for 8.5 kg",
                "paid a sum and a sum for 8.5 kg",
            ),
            ("below the 135 GBP limit", "below the limit"),
        ] {
            assert_eq!(without_sums(text), veiled);
        }
    }
}
