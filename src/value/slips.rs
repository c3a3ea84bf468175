//! The commonest slips of a book, asked about and not refused: two spellings of one seller, one piece where a place takes two,
//! a digit too many or too few in a mass.

use super::bench::{Bench, Seat};
use crate::book::{Book, MassKind, Part, Seller, readings};
use crate::landed::Jurisdiction;
use crate::text::words::quoted;
use crate::text::{Cell, Diagnostic, Problems, words};
use crate::units::{Dec, Grams, Overflow};

/// Asks about everything that looks like a slip.
pub(super) fn ask(
    book: &Book,
    bench: &Bench<'_>,
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) {
    sellers(book, problems);
    pieces(bench, problems);
    for row in &book.parts {
        // A mass too large to be added up is refused elsewhere.
        let _ = mass(book, row, jurisdiction, problems);
    }
}

/// Two names that differ by a word or a letter may be one seller, and one parcel.
fn sellers(book: &Book, problems: &mut Problems) {
    let used: Vec<&Seller> = book
        .sellers
        .values()
        .filter(|s| {
            book.parts
                .iter()
                .any(|p| p.seller.as_deref() == Some(s.name.as_str()))
        })
        .collect();
    for (at, one) in used.iter().enumerate() {
        for other in used
            .iter()
            .skip(at + 1)
            .filter(|other| alike(&one.name, &other.name))
        {
            let (first, second) = if one.at.row().line() <= other.at.row().line() {
                (*one, *other)
            } else {
                (*other, *one)
            };
            let what = format!(
                "may be the seller {} at {} written otherwise",
                quoted(&first.name),
                first.at.place()
            );
            let help = "one seller has one name: two names are two parcels, each with limits, freight and fees of its own";
            problems.push(second.at.cell("seller").error(what).as_warning().help(help));
        }
    }
}

/// Whether two names differ by one word that only one of them has, or by one letter of a word of some length.
fn alike(one: &str, other: &str) -> bool {
    let split = |name: &str| -> Vec<String> {
        let lower = name.to_lowercase();
        lower
            .split(|c: char| !c.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_owned)
            .collect()
    };
    let (one, other) = (split(one), split(other));
    let (short, long) = if one.len() <= other.len() {
        (&one, &other)
    } else {
        (&other, &one)
    };
    if short.concat() == long.concat() {
        return true;
    }
    if short.len() + 1 == long.len() {
        let without = |at: usize| {
            long.iter()
                .enumerate()
                .filter(|(n, _)| *n != at)
                .map(|(_, word)| word)
                .eq(short.iter())
        };
        return !short.is_empty() && (0..long.len()).any(without);
    }
    let differing: Vec<(&String, &String)> =
        short.iter().zip(long).filter(|(a, b)| a != b).collect();
    match differing.as_slice() {
        [(a, b)] if short.len() == long.len() => words::one_letter_apart(a, b),
        _ => false,
    }
}

/// Fewer pieces than fill a place, unless what is there weighs as much as all of them: a pair that is sold as one.
fn pieces(bench: &Bench<'_>, problems: &mut Problems) {
    for seat in bench.seats() {
        if let Some(question) = seat.place.pieces.and_then(|pieces| too_few(seat, pieces)) {
            problems.push(question);
        }
    }
}

/// Asks whether a piece is missing at a place that takes this many.
fn too_few(seat: &Seat<'_>, pieces: u32) -> Option<Diagnostic> {
    let here = seat.pieces();
    // A quantity that could not be read has been told already, and the count is not what was meant.
    let is_read = |row: &Part| {
        let typed = row.at.cell("quantity");
        typed.is_empty() || typed.text() == row.quantity.to_string()
    };
    let is_plain = |row: &&Part| {
        row.places.len() == 1 && !row.is_open() && row.comes_with.is_none() && is_read(row)
    };
    if here >= u64::from(pieces) || !seat.rows.iter().all(is_plain) {
        return None;
    }
    let masses: Option<Vec<Grams>> = seat.rows.iter().map(|row| row.total_mass()).collect();
    let sum = masses.and_then(|masses| Grams::total(masses).ok());
    let (low, _) = seat.place.usual?;
    if sum.is_some_and(|sum| sum >= low) {
        // As heavy as all pieces together: a pair that is sold as one.
        return None;
    }
    let typed = seat.rows.last()?.at.cell("quantity");
    let is = if here == 1 { "is" } else { "are" };
    let piece = if pieces == 1 { "piece" } else { "pieces" };
    let what = format!(
        "{here} {is} at `{}`, which takes {pieces} {piece}: is one missing?",
        seat.place.place
    );
    let help = format!(
        "say `quantity` {pieces} when that many are bought one by one; a pair sold as one is 1, with the price and mass of both"
    );
    Some(typed.error(what).as_warning().help(help))
}

/// A mass far outside what usually is at its places: three times the most, or a third of the least. A digit too many or too
/// few is ten times, and the range itself may be as wide as three times.
fn mass(
    book: &Book,
    row: &Part,
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> Result<(), Overflow> {
    let Some(mass) = row.mass else { return Ok(()) };
    let Some((low, high)) = usual_of_one(row, jurisdiction)? else {
        return Ok(());
    };
    let three = Dec::from(3_u32);
    let (tenfold, tenth) = (mass.0 > high.times(three)?, mass.0.times(three)? < low);
    if !tenfold && !tenth {
        return Ok(());
    }
    let many = if tenfold { "many" } else { "few" };
    let place = row.places.join(" + ");
    let what = format!(
        "one at `{place}` usually weighs {} to {} g: is that a digit too {many}?",
        low.round_to(0, HALF_UP),
        high.round_to(0, HALF_UP)
    );
    problems.push(mass_cell(book, row).error(what).as_warning());
    Ok(())
}

/// Where a row's mass was told: in the last reading that counts where it was weighed, else in the row itself.
fn mass_cell<'a>(book: &'a Book, row: &'a Part) -> Cell<'a> {
    let weighed = row.mass_kind == MassKind::Weighed;
    let readings = readings(&row.name, &book.weighings).into_iter();
    let mut counted = readings.filter(|(_, counts)| *counts && weighed);
    let at = match counted.next_back() {
        Some((reading, _)) => &reading.at,
        None => &row.at,
    };
    at.cell("mass_g")
}

const HALF_UP: crate::units::Mode = crate::units::Mode::HalfUp;

/// What one of a row usually weighs: the range of its places, over the pieces that fill them where as many are bought; from one
/// piece to all of them where a pair may be sold as one. None where a place has no range.
fn usual_of_one(
    row: &Part,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<Option<(Dec, Dec)>, Overflow> {
    let (mut low, mut high) = (Dec::ZERO, Dec::ZERO);
    for place in &row.places {
        let Some(found) = jurisdiction.place(place) else {
            return Ok(None);
        };
        let (Some(pieces), Some((least, most))) = (found.pieces, found.usual) else {
            return Ok(None);
        };
        let (pieces, most) = (Dec::from(pieces), most.0);
        low = low.plus(least.0.over(pieces)?)?;
        // What is bought one by one weighs what one does; else it may be all of them in one.
        high = high.plus(if row.quantity > 1 {
            most.over(pieces)?
        } else {
            most
        })?;
    }
    Ok((!row.places.is_empty() && high.is_positive()).then_some((low, high)))
}

#[cfg(test)]
mod tests {
    use super::alike;

    #[test]
    fn names_of_one_seller_and_of_two() {
        for (one, other, same) in [
            ("Taolin Parts House", "Taolin Parts", true),
            ("Taolin Parts House", "Taolin Part House", true),
            ("Nagihama Cycle", "Nagihama-Cycle", true),
            ("Nagihama", "Nagihama Cycle", true),
            ("Nagihama Cycle", "Nagihma Cycle", true),
            ("Northmoor", "Southmoor", false),
            ("Shop 1", "Shop 2", false),
            ("seller A", "seller B", false),
            ("Weihu Composite Works", "Taolin Parts House", false),
        ] {
            assert_eq!(alike(one, other), same, "{one} and {other}");
        }
    }
}
