//! One step of `rank` made: an option, or another offer of a part, becomes the build's row, with all that comes and goes with it.

use super::Edits;
use super::built::{Build, as_build};
use super::find::{only, rows_of};
use crate::book::{Book, Part, Role};
use crate::landed::Jurisdiction;
use crate::rank::{Ranked, Ranking, rank_at};
use crate::text::words::{list, quoted};
use crate::text::{Diagnostic, Problems};
use crate::units::{Dec, Overflow};

/// What is taken: the row of the offer, and what `rank` says of it.
#[derive(Debug)]
pub(crate) struct Taken {
    /// The step of the ranking.
    pub(crate) option: Ranked,
    /// What `rank` says of the build.
    pub(crate) ranking: Ranking,
}

impl Taken {
    /// What the build lands at with it: what the replaced pieces fetch is no part of that, and a usual piece stands in no book.
    pub(crate) fn foretold(&self) -> Result<Dec, Overflow> {
        let usual = Dec::total(self.option.usual.iter().map(|cure| cure.cost))?;
        let landed = self.ranking.landed.plus(self.option.together)?;
        landed.plus(self.option.resale)?.minus(usual)
    }
}

/// The edits that put an offer into the build, and what `rank` foretells of it.
pub(crate) fn take(
    book: &Book,
    jurisdiction: &Jurisdiction<'_>,
    part: &str,
    seller: Option<&str>,
) -> Result<(Edits, Taken), Problems> {
    let row = offered(book, part, seller)?;
    let ranking = rank_at(book, jurisdiction)?;
    let own = row.at.line().to_string();
    let Some(option) = ranking.options.iter().find(|option| option.row == own) else {
        return Err(Problems::from(unranked(&ranking, row)));
    };
    let build = Build {
        rows: option.after.iter().copied().collect(),
        labels: option.labels.iter().cloned().collect(),
    };
    let edits = as_build(book, &build)?;
    let option = option.clone();
    Ok((edits, Taken { option, ranking }))
}

/// The row that may be taken: an option, or another offer than the build's.
fn offered<'b>(book: &'b Book, part: &str, seller: Option<&str>) -> Result<&'b Part, Diagnostic> {
    let rows = rows_of(book, part)?;
    let (built, free): (Vec<&Part>, Vec<&Part>) =
        rows.iter().partition(|row| row.role == Role::Build);
    // a seller may have two offers of one part: the one that is in the build is not meant
    let sells = |rows: &[&Part]| {
        rows.iter()
            .any(|row| Some(row.seller.as_deref().unwrap_or_default()) == seller)
    };
    let is_built = sells(&built) && !sells(&free);
    if free.is_empty() || is_built {
        let what = format!("{} is in the build already", quoted(part));
        let help = if free.is_empty() {
            "`landwaiter rank` lists what may be taken".to_owned()
        } else {
            let others: Vec<String> = free.iter().map(|row| super::find::who(row)).collect();
            format!("it is offered by {} too", list(&others, "and"))
        };
        return Err(Diagnostic::error(what).help(help));
    }
    let row = only(&free, part, seller)?;
    if row.is_gone() {
        let what = format!("{} went back or is lost, and cannot be taken", quoted(part));
        return Err(Diagnostic::error(what).help("add a row for a new one"));
    }
    Ok(row)
}

/// Why an offer cannot be taken.
fn unranked(ranking: &Ranking, row: &Part) -> Diagnostic {
    let named = quoted(&row.name);
    let of = |left: &&crate::rank::Unranked| left.part == row.name && left.seller == row.seller;
    if let Some(unfit) = ranking.unfit.iter().find(of) {
        let what = format!("{named} does not fit the build: {}", unfit.reason);
        return Diagnostic::error(what)
            .help("take what it must fit together with, or change `fits`");
    }
    if let Some(left) = ranking.left_out.iter().find(of) {
        let what = format!("{named} cannot be taken: {}", left.reason);
        return Diagnostic::error(what).at(row.at.line());
    }
    let with = ranking.options.iter().find(|option| {
        let together = [&option.with, &option.needs, &option.bundled];
        together.iter().any(|names| names.contains(&row.name))
    });
    let what = format!("{named} cannot be taken alone");
    match with {
        Some(option) => Diagnostic::error(what)
            .help(format!("it comes with {}: take that", quoted(&option.part))),
        None => Diagnostic::error(what).help("`landwaiter rank` lists what may be taken"),
    }
}
