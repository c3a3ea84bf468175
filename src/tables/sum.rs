//! The small language of sums: `goods + 0.6 * freight - freight.border`.

use std::fmt;

use crate::units::{Dec, number};

/// Terms added up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct SumExpr {
    /// In the order written.
    pub(crate) terms: Vec<Term>,
}

/// One term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Term {
    /// Whether it is taken off.
    pub(crate) minus: bool,
    /// What it is multiplied by.
    pub(crate) factor: Factor,
    /// What it names: a part of the price, a kind, or a row's id.
    pub(crate) name: String,
}

/// The factor of a term.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Factor {
    /// A number over a number: `0.6` is 0.6 over one, `22/78` is itself.
    Fraction(Dec, Dec),
    /// A fact of the line, as a number between zero and one: `trait.metal_share`.
    Trait(String),
}

/// The names of a sum that are always there.
pub(crate) const PRICE_NAMES: [&str; 6] = [
    "list",
    "goods",
    "freight",
    "freight.border",
    "freight.inland",
    "insurance",
];

impl SumExpr {
    /// Reads a sum; the error says what was expected.
    pub(crate) fn parse(text: &str) -> Result<SumExpr, String> {
        let mut terms = Vec::new();
        let mut minus = false;
        for (at, piece) in pieces(text).into_iter().enumerate() {
            match (at % 2, piece) {
                (0, term) => terms.push(Term::parse(term, minus)?),
                (_, "+") => minus = false,
                (_, "-") => minus = true,
                (_, other) => return Err(format!("expected ` + ` or ` - ` before `{other}`")),
            }
        }
        if terms.is_empty() {
            Err("expected a sum such as `goods + freight`".to_owned())
        } else {
            Ok(SumExpr { terms })
        }
    }

    /// The names in it.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        self.terms.iter().map(|term| term.name.as_str())
    }
}

/// Splits `0.6 * goods + freight` into terms and signs: a lone `*` binds its neighbours.
fn pieces(text: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let (mut start, mut at) = (0, 0);
    for word in text.split(' ') {
        if word == "+" || word == "-" {
            out.push(text[start..at].trim());
            out.push(word);
            start = at + word.len();
        }
        at += word.len() + 1;
    }
    out.push(text[start.min(text.len())..].trim());
    out
}

impl Term {
    fn parse(text: &str, minus: bool) -> Result<Term, String> {
        let (factor, name) = match text.split_once('*') {
            None => (Factor::Fraction(Dec::ONE, Dec::ONE), text),
            Some((factor, name)) => (Factor::parse(factor.trim())?, name.trim()),
        };
        let ok = |c: char| c.is_ascii_alphanumeric() || "_.:-".contains(c);
        if name.is_empty()
            || !name.starts_with(|c: char| c.is_ascii_alphabetic())
            || !name.chars().all(ok)
        {
            return Err(format!(
                "`{name}` is not a name; expected a sum such as `goods + 0.6 * freight`"
            ));
        }
        Ok(Term {
            minus,
            factor,
            name: name.to_owned(),
        })
    }
}

impl Factor {
    fn parse(text: &str) -> Result<Factor, String> {
        if let Some(name) = text.strip_prefix("trait.") {
            return Ok(Factor::Trait(name.to_owned()));
        }
        let expected =
            || format!("`{text}` is not a factor; expected `0.6`, `22/78` or `trait.NAME`");
        let (over, under) = text.split_once('/').unwrap_or((text, "1"));
        let read = |s: &str| number::plain(s.trim()).map_err(|_| expected());
        let (over, under) = (read(over)?, read(under)?);
        if under.is_zero() {
            Err(expected())
        } else {
            Ok(Factor::Fraction(over, under))
        }
    }
}

impl fmt::Display for SumExpr {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, term) in self.terms.iter().enumerate() {
            let sign = if term.minus { " - " } else { " + " };
            if at > 0 {
                f.write_str(sign)?;
            }
            match &term.factor {
                Factor::Fraction(one, under) if *one == Dec::ONE && *under == Dec::ONE => {}
                Factor::Fraction(over, under) if *under == Dec::ONE => write!(f, "{over} * ")?,
                Factor::Fraction(over, under) => write!(f, "{over}/{under} * ")?,
                Factor::Trait(name) => write!(f, "trait.{name} * ")?,
            }
            f.write_str(&term.name)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_read_and_print_alike() {
        for text in [
            "goods",
            "goods + freight.border + insurance",
            "0.6 * goods",
            "22/78 * tax_national - freight:kr-low",
            "trait.metal * list",
        ] {
            assert_eq!(SumExpr::parse(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn broken_sums_say_why() {
        for text in [
            "",
            "+",
            "goods +",
            "goods freight",
            "1/0 * goods",
            "x * goods",
            "9goods",
            "goods * 2",
        ] {
            assert!(SumExpr::parse(text).is_err(), "{text:?}");
        }
    }
}
