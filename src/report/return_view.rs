//! `return` as one screen and as JSON: what is lost either way, then charge by charge.

use serde_json::{Value, json};

use super::cautions::{End, Warnings};
use super::return_shown::returned_in;
use super::show::Show;
use super::view::{Cell, Grid, View};
use crate::book::Fault;
use crate::landed::Caution;
use crate::returns::{BackLine, Returned};
use crate::tables::{BACKS, Back};
use crate::text::words::{capital, count, list, word_of};
use crate::units::{Dec, Overflow, ShownMoney};

/// What can be done with a part: the words, what is lost when it is done, and at best.
type Way = (&'static str, Dec, Option<Dec>);

/// The way that is asked about.
const SEND_BACK: &str = "send it back";

/// The only way where it never came.
const CLAIM: &str = "claim it";

/// The ways, the least loss first; a part kept is worth what it cost, less what came back.
fn ways(found: &Returned, repair: Option<Dec>) -> Result<Vec<Way>, Overflow> {
    let at_best = found.lost_at_best()?;
    let lost = found.lost()?;
    let at_best = (at_best != lost).then_some(at_best);
    if found.went_back {
        return Ok(vec![("it went back", lost, at_best)]);
    }
    if found.never_came() {
        return Ok(vec![(CLAIM, lost, at_best)]);
    }
    let kept = found.landed.minus(found.came_back)?;
    let mut ways = vec![(SEND_BACK, lost, at_best)];
    if let Some(resale) = found.resale {
        ways.push(("sell it here", kept.minus(resale)?, None));
    }
    if let Some(repair) = repair {
        ways.push(("repair it, or have it made to fit", repair, None));
    }
    ways.push(("keep it unused", kept, None));
    ways.sort_by_key(|way| way.1);
    Ok(ways)
}

/// What was paid for a part, charge by charge, and what becomes of each when it goes back; `rows` names the rows that say so.
fn charges(found: &Returned, rows: bool, show: &Show) -> Grid {
    let mut grid = Grid::new(
        "charges",
        &["charge", "paid", "comes back", "refund", "until", "row"],
    );
    for line in &found.lines {
        let comes = match (line.back, line.from.as_str()) {
            _ if line.booked => "came back".to_owned(),
            (Back::Yes, from) => format!("from the {from}"),
            (Back::Possible, from) => format!("possible, from {from}"),
            (Back::No, _) => "no".to_owned(),
        };
        let until = line
            .until
            .map_or(Cell::Empty, |d| Cell::text(d.to_string()));
        let amount = if line.back == Back::No {
            Cell::NotDue(show.amount(line.paid))
        } else {
            Cell::number(show.amount(line.amount))
        };
        grid.rows.push(vec![
            Cell::text(word(line.charge, show)),
            Cell::number(show.amount(line.paid)),
            Cell::text(comes),
            amount,
            until,
            Cell::text(&line.row),
        ]);
    }
    if let Some(freight) = found.freight_back {
        let cost = Cell::number(show.amount(freight.negated()));
        grid.rows.push(vec![
            Cell::text("shipping back"),
            Cell::Empty,
            Cell::text(if found.freight_back_told {
                "you pay, as the receipt says"
            } else {
                "you pay, as entered for the seller"
            }),
            cost,
            Cell::Empty,
            Cell::text(if found.freight_back_told {
                "receipts.csv"
            } else {
                "sellers.csv"
            }),
        ]);
    }
    if !rows {
        grid.header.pop();
        grid.rows.iter_mut().for_each(|row| {
            row.pop();
        });
    }
    grid
}

/// What else is known where a part goes back: what a repair would cost, in the destination's money, the same return for a fault,
/// and the words beside it.
#[derive(Debug, Default)]
pub(crate) struct Beside<'a> {
    /// What a repair would cost.
    pub(crate) repair: Option<Dec>,
    /// What becomes of the part if it is faulty, where it goes back for another reason.
    pub(crate) faulty: Option<&'a Returned>,
    /// Cautions about what the figures rest on.
    pub(crate) said: &'a [Caution],
}

/// The view of a return; `rows` names the rows of law behind each charge.
pub(crate) fn return_view(
    found: &Returned,
    beside: &Beside<'_>,
    rows: bool,
    home: &Show,
) -> Result<View, Overflow> {
    let repair = beside
        .repair
        .map(|repair| home.rounded(repair))
        .transpose()?;
    let (found, show) = (&returned_in(found, home)?, &home.as_it_is());
    let ways = ways(found, repair)?;
    let (mut view, mut brief, mut more) = (View::default(), View::default(), View::default());
    view.answer(answer(found, &ways, show)?);
    at_best(found, beside, home, &mut view)?;
    brief.table(what_was_paid(found, show));
    view.brief(brief);
    let mut grid = Grid::new("ways", &["your choice", "loses", "at best"]);
    for (what, loss, best) in ways {
        grid.rows.push(vec![
            Cell::text(what),
            Cell::number(show.amount(loss)),
            best.map_or(Cell::Empty, |b| Cell::number(show.amount(b))),
        ]);
    }
    more.table(grid);
    more.table(charges(found, rows, show));
    more.notes(notes(found, show));
    view.more(more);
    let mut warnings = Warnings::of(beside.said, home);
    before_sending(found, show, &mut warnings)?;
    let next = match (found.went_back, found.resale) {
        _ if found.never_came() => {
            "write to the seller today; enter what comes back with `landwaiter settle --add`."
        }
        (true, _) => "`landwaiter settle` sets what came back against the estimate.",
        (false, None) => {
            "ask the seller, then decide. If you would sell it here, fill in `resale`."
        }
        (false, Some(_)) => "ask the seller, then decide.",
    };
    let end = End {
        next,
        at_the_door: false,
    };
    let heading = if found.never_came() {
        "What to claim"
    } else {
        "Before you send it"
    };
    warnings.conclude(heading, &end, show, &mut view);
    Ok(view)
}

/// What is lost by each way, the one that was asked about first.
fn answer(found: &Returned, ways: &[Way], show: &Show) -> Result<String, Overflow> {
    let (lost, cost) = (show.money(found.lost()?), show.amount(found.landed));
    if found.went_back {
        return Ok(format!(
            "The price of {} came back in full: {lost} of the {cost} it cost is lost.",
            found.part
        ));
    }
    if found.never_came() {
        return never_came(found, show);
    }
    let unknown = if found.freight_back.is_none() {
        ", and the shipping back, which is unknown"
    } else {
        ""
    };
    let mut said = format!(
        "Send {} back and you lose {lost} of the {cost} it cost{unknown}.",
        found.part
    );
    for (what, loss, _) in ways.iter().filter(|(what, ..)| *what != SEND_BACK) {
        said.push_str(&format!(" {}: lose {}.", capital(what), show.amount(*loss)));
    }
    Ok(said)
}

/// What can be claimed for a part that was not in its parcel, of whom, and until when.
fn never_came(found: &Returned, show: &Show) -> Result<String, Overflow> {
    let (owed, cost) = (found.owed()?, show.amount(found.landed));
    let (part, seller) = (&found.part, seller_of(found));
    if owed.is_zero() {
        return Ok(format!(
            "{part} never came, and none of the {} it cost is certain to come back: ask {seller}.",
            show.money(found.landed)
        ));
    }
    Ok(format!(
        "{part} never came: claim {} from {seller}, of the {cost} it cost{}.",
        show.money(owed),
        until(found)
    ))
}

/// Who sold it.
fn seller_of(found: &Returned) -> &str {
    match found.bill.seller.as_str() {
        "" => "the seller",
        name => name,
    }
}

/// The last day of the first claim, in words that follow another sentence.
fn until(found: &Returned) -> String {
    found
        .until()
        .map(|until| format!("; the last day is {until}"))
        .unwrap_or_default()
}

/// How little may be lost, and what came back already.
fn at_best(
    found: &Returned,
    beside: &Beside<'_>,
    home: &Show,
    view: &mut View,
) -> Result<(), Overflow> {
    let show = home.as_it_is();
    if !found.came_back.is_zero() {
        view.say(format!(
            "{} came back already, as the receipts say.",
            show.money(found.came_back)
        ));
    }
    let best = found.lost_at_best()?;
    if !found.possibly_back.is_zero() {
        view.say(format!(
            "If all that may come back does, you lose {}: not certain, not counted.",
            show.money(best)
        ));
    }
    if let Some(faulty) = beside.faulty.filter(|_| !found.went_back) {
        let faulty = returned_in(faulty, home)?.lost_at_best()?;
        if faulty < best {
            view.say(format!(
                "If it is faulty the loss may fall to {}: add `--reason faulty`.",
                show.amount(faulty)
            ));
        }
    }
    Ok(())
}

/// What was paid, what surely comes back of it, and from whom.
fn what_was_paid(found: &Returned, show: &Show) -> Grid {
    let mut grid = Grid::new("paid", &["What you paid", "Paid", "Comes back", "From"]);
    for line in &found.lines {
        let why = line.text.split(". ").next().unwrap_or_default();
        let why = why.split(": ").next().unwrap_or_default();
        let (amount, from) = match (line.back, line.from.as_str()) {
            _ if line.booked => (line.amount, "came back already".to_owned()),
            (Back::Yes, from) if line.charge == "goods" && !found.never_came() => {
                (line.amount, format!("the {from}, if it takes it back"))
            }
            (Back::Yes, from) => (line.amount, format!("the {from}")),
            (Back::Possible, from) => {
                let until = line
                    .until
                    .map(|until| format!(" by {until}"))
                    .unwrap_or_default();
                let amount = show.amount(line.amount);
                (Dec::ZERO, format!("perhaps {amount} from {from}{until}"))
            }
            (Back::No, _) if why.is_empty() => (Dec::ZERO, "nobody".to_owned()),
            (Back::No, _) => (Dec::ZERO, format!("nobody: {why}")),
        };
        grid.rows.push(vec![
            Cell::text(capital(&word(line.charge, show))),
            Cell::number(show.amount(line.paid)),
            Cell::number(show.amount(amount)),
            Cell::text(from),
        ]);
    }
    if let Some(freight) = found.freight_back {
        grid.rows.push(vec![
            Cell::text("Shipping back"),
            Cell::Empty,
            Cell::number(show.amount(freight.negated())),
            Cell::text("you pay this"),
        ]);
    }
    grid.foot = Some(vec![
        Cell::text("Total"),
        Cell::number(show.amount(found.landed)),
        Cell::number(show.amount(found.surely_back)),
        Cell::Empty,
    ]);
    grid
}

/// What to ask and to claim before the part goes back, each with its amount.
fn before_sending(found: &Returned, show: &Show, warnings: &mut Warnings) -> Result<(), Overflow> {
    let (money, then, now) = found.refund;
    if found.never_came() {
        let owed = found.owed()?;
        let text = format!(
            "It was not in its parcel. Claim it from {}{}.{}",
            seller_of(found),
            until(found),
            if money.currency == show.currency {
                String::new()
            } else {
                format!(" The price comes back as {money}; {}.", rate_used(found))
            }
        );
        warnings.costs(ShownMoney::of(owed), text, "never-came");
    } else if !found.went_back {
        let exchanged = if money.currency == show.currency {
            "The price comes back only if the seller takes the part back".to_owned()
        } else {
            format!(
                "The price comes back as {money}, if the seller takes the part back; {}, and your card uses its own",
                rate_used(found)
            )
        };
        warnings.costs(
            ShownMoney::of(now),
            format!("{exchanged}. Ask the seller first, and by when it accepts returns."),
            "price-back",
        );
        if found.freight_back.is_none() {
            warnings.costs_unknown(
                "What sending it back costs is unknown. Ask the seller, and fill in `return_freight` in `sellers.csv`.",
                "return-freight-unknown",
            );
        }
    }
    for (charges, line, sum) in possible(found, show)? {
        let until = line
            .until
            .map(|until| format!("; the last day is {until}"))
            .unwrap_or_default();
        let text = format!(
            "{} may come back from {}{until}. {}.",
            capital(&list(&charges, "and")),
            line.from,
            capital(line.text.trim_end_matches('.'))
        );
        warnings.costs(ShownMoney::of(sum), text, "may-come-back");
    }
    if found
        .card_cover
        .as_ref()
        .is_some_and(|(inside, ..)| *inside)
    {
        warnings.costs(
            ShownMoney::of(then),
            "Paid by credit card? Its issuer may answer together with the seller. If the seller does not help, ask the issuer.",
            "card-cover",
        );
    }
    if let Some((_, until)) = found
        .warranty
        .filter(|(_, until)| *until >= found.day && !found.never_came())
    {
        warnings.costs_nothing(
            format!(
                "Its warranty runs until {until}, as entered. If it is faulty, ask the seller for a repair first."
            ),
            "warranty",
        );
    }
    if !found.rules_known {
        warnings.costs_unknown(
            "It is unknown which charges this country refunds, so none is counted. Ask its customs.",
            "refunds-unknown",
        );
    }
    Ok(())
}

/// Charges that may come back by the same words, from the same side and until the same day: their names, one of them, their sum.
type Possible<'f> = Vec<(Vec<String>, &'f BackLine, Dec)>;

/// What may come back, each claim once.
fn possible<'f>(found: &'f Returned, show: &Show) -> Result<Possible<'f>, Overflow> {
    let mut all: Possible<'f> = Vec::new();
    let lines = found.lines.iter();
    for line in lines.filter(|line| line.back == Back::Possible && !line.booked) {
        let same = |other: &BackLine| {
            (&other.text, &other.from, other.until) == (&line.text, &line.from, line.until)
        };
        let name = word(line.charge, show);
        match all.iter_mut().find(|(_, other, _)| same(other)) {
            Some((names, _, sum)) => {
                names.push(name);
                *sum = sum.plus(line.amount)?;
            }
            None => all.push((vec![name], line, line.amount)),
        }
    }
    Ok(all)
}

/// Which exchange rate is used, with its age where it is old.
fn rate_used(found: &Returned) -> String {
    let rate_day = found.rate_day.unwrap_or(found.day);
    match found.day.days_since(rate_day) {
        old if old > 7 => format!("the exchange rate used is {old} days old"),
        _ => format!("the exchange rate used is of {rate_day}"),
    }
}

/// As on every screen; of one part the goods are its price.
fn word(charge: &str, show: &Show) -> String {
    if charge == "goods" {
        "price".to_owned()
    } else {
        show.charge(charge)
    }
}

/// The words of the rules, charge by charge, and what else is known in full.
fn notes(found: &Returned, show: &Show) -> Vec<String> {
    let (money, then, now) = found.refund;
    let mut lines: Vec<String> = found
        .lines
        .iter()
        .filter(|l| !l.text.is_empty())
        .map(|l| format!("{}: {}", capital(&word(l.charge, show)), l.text))
        .collect();
    if money.currency != show.currency && !found.went_back {
        let how = match now.minus(then) {
            Ok(none) if none.is_zero() => "as it was paid".to_owned(),
            Ok(less) if less.is_negative() => format!("{} less than paid", show.money(less.abs())),
            Ok(more) => format!("{} more than paid", show.money(more)),
            Err(_) => String::new(),
        };
        lines.push(format!(
            "The price comes back as {money}, {} by the market rate of {}: {how}. Your card uses its own rate.",
            show.money(now),
            found.rate_day.unwrap_or(found.day)
        ));
    }
    if let Some((inside, _, text)) = &found.card_cover {
        let verdict = if *inside {
            "the price of one is within it"
        } else {
            "the price of one is outside it"
        };
        lines.push(format!("Card cover ({verdict}): {text}."));
    }
    if let Some((months, until)) = found.warranty {
        let over = if until < found.day {
            ", which is over"
        } else {
            ""
        };
        lines.push(format!(
            "Warranty as entered: {} from the arrival, until {until}{over}.",
            count(months as usize, "month", "months")
        ));
    }
    lines
}

/// The return as JSON.
pub(crate) fn return_json(
    found: &Returned,
    repair: Option<Dec>,
    show: &Show,
    destination: &str,
    tables: Value,
) -> Result<Value, Overflow> {
    let repair = repair.map(|repair| show.rounded(repair)).transpose()?;
    let (found, show) = (&returned_in(found, show)?, &show.as_it_is());
    let lines = found.lines.iter().map(|line| {
        json!({
            "charge": line.charge,
            "paid": show.exact(line.paid),
            "comes_back": word_of(&BACKS, line.back),
            "amount": show.exact(line.amount),
            "from": line.from,
            "until": line.until.map(|d| d.to_string()),
            "row": line.row,
            "text": line.text,
            "came_back": line.booked,
        })
    });
    let ways = ways(found, repair)?
        .into_iter()
        .map(|(what, loss, best)| json!({"what": what, "loses": show.exact(loss), "at_best": best.map(|b| show.exact(b))}));
    let (money, then, now) = found.refund;
    Ok(json!({
        "format": "landwaiter.return/1",
        "destination": destination,
        "currency": show.currency.to_string(),
        "date": found.day.to_string(),
        "tables": tables,
        "part": found.part,
        "consignment": found.consignment,
        "reason": found.reason.name(),
        "landed": show.exact(found.landed),
        "charges": lines.collect::<Vec<_>>(),
        "refund": {"amount": money.amount.fixed(money.currency.digits()), "currency": money.currency.to_string(), "then": show.exact(then), "now": show.exact(now), "exchange": show.exact(now.minus(then)?)},
        "freight_back": found.freight_back.map(|f| show.exact(f)),
        "freight_back_from": found.freight_back.map(|_| if found.freight_back_told { "receipts.csv" } else { "sellers.csv" }),
        "surely_back": show.exact(found.surely_back),
        "possibly_back": show.exact(found.possibly_back),
        "came_back": show.exact(found.came_back),
        "went_back": found.went_back,
        "fault": found.fault.map(Fault::name),
        "lost": show.exact(found.lost()?),
        "lost_at_best": show.exact(found.lost_at_best()?),
        "resale": found.resale.map(|r| show.exact(r)),
        "ways": ways.collect::<Vec<_>>(),
        "card_cover": found.card_cover.as_ref().map(|(inside, row, text)| json!({"inside": inside, "row": row, "text": text})),
        "warranty": found.warranty.map(|(months, until)| json!({"months": months, "until": until.to_string()})),
        "cautions": [],
    }))
}
