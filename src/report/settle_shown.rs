//! A settlement in the money it is shown in, so that what is shown adds up there too: what was calculated and what differs are
//! converted once, shared by largest remainder over the charges, and each difference over its causes.

use super::show::Show;
use crate::settle::{Claimable, Entry, Ledger};
use crate::steps::Claim;
use crate::units::{Dec, Overflow, Rate, share_exact};

/// Claims whose sums are in the money of `show`, in whole minor units.
pub(crate) fn claims_in(claims: &[Claim], show: &Show) -> Result<Vec<Claim>, Overflow> {
    let shown = |claim: &Claim| {
        Ok(Claim {
            owed: claim.owed.map(|owed| show.rounded(owed)).transpose()?,
            possible: show.rounded(claim.possible)?,
            ..claim.clone()
        })
    };
    claims.iter().map(shown).collect()
}

/// A ledger whose sums are in the money of `show`, in whole minor units: charges add up to the totals, what was calculated and
/// what differs to what was charged, and causes to what differs. It is to be shown as it is ([`Show::as_it_is`]).
pub(crate) fn settled_in(ledger: &Ledger, show: &Show) -> Result<Ledger, Overflow> {
    let mut all = ledger.clone();
    if show.rate == Rate::SAME {
        return Ok(all);
    }
    let entries = || {
        ledger
            .parcels
            .iter()
            .flat_map(|p| &p.entries)
            .filter(|e| e.actual.is_some())
    };
    let estimated = entries().map(|e| e.estimated).collect::<Vec<_>>();
    let differs = entries()
        .map(Entry::difference)
        .collect::<Result<Vec<_>, _>>()?;
    let shares = shared(&estimated, show)?
        .into_iter()
        .zip(shared(&differs, show)?);
    let settled = all
        .parcels
        .iter_mut()
        .flat_map(|p| &mut p.entries)
        .filter(|e| e.actual.is_some());
    for (entry, (estimated, differs)) in settled.zip(shares) {
        let before = entry.clone();
        (entry.estimated, entry.actual) = (estimated, Some(estimated.plus(differs)?));
        causes(entry, differs, show)?;
        if let Some(claim) = &mut entry.claim {
            claim.amount = claimed(
                claim,
                &before,
                entry.causes.iter().map(|(_, amount)| *amount),
                show,
            )?;
        }
    }
    for entry in all
        .parcels
        .iter_mut()
        .flat_map(|p| &mut p.entries)
        .filter(|e| e.actual.is_none())
    {
        entry.estimated = show.rounded(entry.estimated)?;
    }
    Ok(all)
}

/// Amounts as they are shown, which add up to their sum as it is shown.
fn shared(amounts: &[Dec], show: &Show) -> Result<Vec<Dec>, Overflow> {
    let total = show.rounded(Dec::total(amounts.iter().copied())?)?;
    let exact = amounts
        .iter()
        .map(|amount| show.exactly(*amount))
        .collect::<Result<Vec<_>, _>>()?;
    share_exact(total, &exact, show.currency.digits())
}

/// The causes of a difference, and what has none, as shares of it.
fn causes(entry: &mut Entry, differs: Dec, show: &Show) -> Result<(), Overflow> {
    let rest = (!entry.unexplained.is_zero()).then_some(entry.unexplained);
    let own = entry.causes.iter().map(|(_, amount)| *amount).chain(rest);
    let exact = own
        .map(|amount| show.exactly(amount))
        .collect::<Result<Vec<_>, _>>()?;
    let mut parts = share_exact(differs, &exact, show.currency.digits())?;
    if rest.is_some() {
        entry.unexplained = parts.pop().unwrap_or_default();
    }
    for ((_, amount), part) in entry.causes.iter_mut().zip(parts) {
        *amount = part;
    }
    entry.causes.retain(|(_, amount)| !amount.is_zero());
    Ok(())
}

/// What can be asked back is what its cause is shown as, where it is all of that.
fn claimed(
    claim: &Claimable,
    before: &Entry,
    now: impl Iterator<Item = Dec>,
    show: &Show,
) -> Result<Dec, Overflow> {
    let own = show.rounded(claim.amount)?;
    let whole = before
        .causes
        .iter()
        .any(|(_, amount)| *amount == claim.amount);
    let near = Dec::new(1, show.currency.digits());
    let mut beside = now.filter(|amount| amount.minus(own).is_ok_and(|off| off.abs() <= near));
    Ok(beside.next().filter(|_| whole).unwrap_or(own))
}
