//! The cells of `parts.csv` that hold more than one word or number: boxes, commodity codes, traits and joints.

use std::collections::BTreeMap;

use super::offer::FitValue;
use crate::text::words;
use crate::units::{Dec, number};

/// `30x20x12`.
pub(super) fn box_cm(text: &str) -> Result<[Dec; 3], String> {
    let expected = || "expected three lengths in centimetres, such as `30x20x12`".to_owned();
    let read = |t: &str| {
        number::plain(t.trim())
            .ok()
            .filter(|n| n.is_positive() && *n <= Dec::THOUSAND)
    };
    let sides: Vec<Dec> = text
        .split(['x', '×'])
        .map(read)
        .collect::<Option<_>>()
        .ok_or_else(expected)?;
    sides.try_into().map_err(|_| expected())
}

/// 4 to 10 digits; points and blanks between them are dropped.
pub(super) fn commodity(text: &str) -> Result<String, String> {
    let digits: String = text.chars().filter(|c| !matches!(c, '.' | ' ')).collect();
    let ok = (4..=10).contains(&digits.len()) && digits.bytes().all(|b| b.is_ascii_digit());
    if ok {
        Ok(digits)
    } else {
        Err("expected 4 to 10 digits of a commodity code, such as `8714 91 10`".to_owned())
    }
}

/// `finish=raw + material=steel`.
pub(super) fn traits(text: &str) -> Result<BTreeMap<String, String>, String> {
    Ok(pairs(text)?
        .into_iter()
        .map(|(name, value)| (name.to_owned(), value.to_owned()))
        .collect())
}

/// `freehub=… + rear_axle=12x142`.
pub(super) fn fits(text: &str) -> Result<BTreeMap<String, FitValue>, String> {
    pairs(text)?
        .into_iter()
        .map(|(key, value)| Ok((key.to_owned(), FitValue::parse(value)?)))
        .collect()
}

fn pairs(text: &str) -> Result<Vec<(&str, &str)>, String> {
    let split = |one: &str| -> Option<usize> {
        one.find('=').map(|at| {
            if one[..at].ends_with(['<', '>']) {
                at - 1
            } else {
                at
            }
        })
    };
    let mut found: Vec<(&str, &str)> = Vec::new();
    for one in text
        .split(" + ")
        .map(str::trim)
        .filter(|one| !one.is_empty())
    {
        let expected = || {
            let here = if one == text {
                String::new()
            } else {
                format!(" where it says {}", words::quoted(one))
            };
            format!("expected `name=value`{here}; several are joined by ` + `")
        };
        let name_end = split(one).ok_or_else(expected)?;
        let value_start = if one[name_end..].starts_with('=') {
            name_end + 1
        } else {
            name_end
        };
        let (name, value) = (one[..name_end].trim(), one[value_start..].trim());
        if name.is_empty() || value.is_empty() {
            return Err(expected());
        }
        if found.iter().any(|(other, _)| *other == name) {
            return Err(format!("expected each name once: `{name}` stands twice"));
        }
        found.push((name, value));
    }
    Ok(found)
}
