//! A part that goes back, in the money it is shown in: each charge is converted once, and the loss is made of the shown amounts.

use super::show::Show;
use crate::returns::Returned;
use crate::tables::Back;
use crate::units::{Dec, Overflow, Rate, share_exact};

/// A return whose sums are in the money of `show`, in whole minor units: what was paid adds up to what the part cost, and what
/// comes back to what is not lost. It is to be shown as it is ([`Show::as_it_is`]).
pub(super) fn returned_in(found: &Returned, show: &Show) -> Result<Returned, Overflow> {
    let mut all = found.clone();
    if show.rate == Rate::SAME {
        return Ok(all);
    }
    all.landed = show.rounded(found.landed)?;
    let paid = found
        .lines
        .iter()
        .map(|line| show.exactly(line.paid))
        .collect::<Result<Vec<_>, _>>()?;
    let shares = share_exact(all.landed, &paid, show.currency.digits())?;
    for ((line, own), paid) in all.lines.iter_mut().zip(&found.lines).zip(shares) {
        // what comes back whole is shown as what was paid is
        line.amount = if own.amount == own.paid {
            paid
        } else {
            show.rounded(own.amount)?
        };
        line.paid = paid;
    }
    all.freight_back = found
        .freight_back
        .map(|freight| show.rounded(freight))
        .transpose()?;
    all.resale = found
        .resale
        .map(|resale| show.rounded(resale))
        .transpose()?;
    all.refund = refund(found, &all, show)?;
    let total = |back: Back| {
        Dec::total(
            all.lines
                .iter()
                .filter(|line| line.back == back)
                .map(|line| line.amount),
        )
    };
    all.surely_back = total(Back::Yes)?.minus(all.freight_back.unwrap_or(Dec::ZERO))?;
    all.possibly_back = total(Back::Possible)?;
    all.came_back = Dec::total(
        all.lines
            .iter()
            .filter(|line| line.booked)
            .map(|line| line.amount),
    )?;
    Ok(all)
}

/// The price then and now, as the row of the goods shows both.
fn refund(
    found: &Returned,
    shown: &Returned,
    show: &Show,
) -> Result<(crate::units::Money, Dec, Dec), Overflow> {
    let (money, then, now) = found.refund;
    let goods = found.lines.iter().position(|line| line.charge == "goods");
    let row = goods.and_then(|at| found.lines.get(at).zip(shown.lines.get(at)));
    let shown_then = match row {
        Some((own, row)) if own.paid == then => row.paid,
        _ => show.rounded(then)?,
    };
    let shown_now = match row {
        _ if now == then => shown_then,
        Some((own, row)) if own.amount == now => row.amount,
        _ => show.rounded(now)?,
    };
    Ok((money, shown_then, shown_now))
}
