//! What is due at the border, as the form of the law has it.

use super::Common;
use super::formula::NumExpr;
use super::inputs::Tag;
use super::live::{Sources, Supplied, read};
use super::page::Page;
use super::refused::Made;
use super::seller::kilograms;
use super::sheets::Look;
use crate::landed::Working;
use crate::rules::Input;
use crate::tables::Kind;

/// What the law comes to, line by line.
pub(super) struct Due {
    kinds: Vec<(Kind, Vec<NumExpr>)>,
    /// Tax at the sale, in the seller's money.
    pub(super) paid: Vec<NumExpr>,
}

impl Due {
    /// What a line bears of a kind; nothing where no row is of that kind.
    pub(super) fn of(&self, kind: Kind, line: u16) -> NumExpr {
        let mut kinds = self.kinds.iter();
        let own = kinds.find(|(own, _)| *own == kind);
        own.map_or(NumExpr::ZERO, |(_, lines)| lines[usize::from(line)].clone())
    }
}

/// Writes the law of a parcel; one that crosses no border has none.
pub(super) fn due(
    page: &mut Page<'_>,
    work: &Working<'_>,
    common: &Common,
    mut supplied: Supplied,
) -> Made<Due> {
    let Some(law) = &work.law else {
        return Ok(Due {
            kinds: Vec::new(),
            paid: vec![NumExpr::ZERO; work.lines.len()],
        });
    };
    page.head(&format!(
        "What is due at the border, in {}",
        common.currency
    ));
    supplied.push((Input::Kilograms, kilograms(&supplied)));
    if work.asks_for_grams() {
        supplied.push((Input::Grams, masses(page, common, &supplied)?));
    }
    let sources = Sources {
        common,
        sellers: work.paid_in,
        rate: work.customs.as_ref(),
        supplied,
    };
    let found = read(page, &law.told, &sources)?;
    let kinds = law.due.iter();
    Ok(Due {
        kinds: kinds.map(|(kind, id)| (*kind, found.of(*id))).collect(),
        paid: found.of(law.paid),
    })
}

/// What each line weighs without packing, by a row of what one piece does.
fn masses(page: &mut Page<'_>, common: &Common, supplied: &Supplied) -> Made<Vec<NumExpr>> {
    let (what, how) = ("  mass of one piece, g", "without packing");
    let row = page.each(what, how, Look::Step, |_, line| {
        common.inputs.tag(common.parcel, line, Tag::Weighs)
    })?;
    let pieces = supplied.iter().filter(|(input, _)| *input == Input::Pieces);
    let pieces = pieces.flat_map(|(_, lines)| lines).cloned();
    let both = pieces.zip(page.cells(row));
    let both = both.map(|(pieces, unit)| NumExpr::Mul(vec![pieces, unit]));
    Ok(both.collect())
}
