//! `return` as one screen and as JSON: what is lost either way, then charge by charge.

use serde_json::{Value, json};

use super::return_shown::returned_in;
use super::show::Show;
use super::view::{Block, Cell, Grid, View};
use crate::landed::Jurisdiction;
use crate::returns::Returned;
use crate::tables::{BACKS, Back};
use crate::text::words::{count, word_of};
use crate::units::{Dec, Overflow};

/// What can be done with a part: the words, what is lost when it is done, and at best.
type Way = (&'static str, Dec, Option<Dec>);

/// The ways, the least loss first; a part kept is worth what it cost, less what came back.
fn ways(found: &Returned, repair: Option<Dec>) -> Result<Vec<Way>, Overflow> {
    let at_best = found.lost_at_best()?;
    let lost = found.lost()?;
    let at_best = (at_best != lost).then_some(at_best);
    if found.went_back {
        return Ok(vec![("it went back", lost, at_best)]);
    }
    let kept = found.landed.minus(found.came_back)?;
    let mut ways = vec![("send it back", lost, at_best)];
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

/// What was paid for a part, charge by charge, and what becomes of each when it goes back.
fn charges(found: &Returned, show: &Show) -> Grid {
    let mut grid = Grid::new(
        "charges",
        &["charge", "paid", "comes back", "how much", "until", "row"],
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
            Cell::text("freight back"),
            Cell::Empty,
            Cell::text("to be paid"),
            cost,
            Cell::Empty,
            Cell::text(if found.freight_back_told {
                "receipts.csv"
            } else {
                "sellers.csv"
            }),
        ]);
    }
    grid
}

/// The view of a return; `repair` is what mending would cost, in the destination's money.
pub(crate) fn return_view(
    found: &Returned,
    repair: Option<Dec>,
    show: &Show,
) -> Result<View, Overflow> {
    let repair = repair.map(|repair| show.rounded(repair)).transpose()?;
    let (found, show) = (&returned_in(found, show)?, &show.as_it_is());
    let mut view = View::default();
    let lost = found.lost()?;
    let unknown = if found.freight_back.is_none() {
        ", and the freight back, which is not known"
    } else {
        ""
    };
    let (lost, cost) = (show.money(lost), show.amount(found.landed));
    view.say(if found.went_back {
        format!(
            "The price of {} came back in full: {lost} of the {cost} it cost is lost.",
            found.part
        )
    } else {
        format!(
            "Sending {} back loses {lost} of the {cost} it cost{unknown}.",
            found.part
        )
    });
    if !found.came_back.is_zero() {
        view.say(format!(
            "{} came back already, as the receipts say.",
            show.money(found.came_back)
        ));
    }
    if !found.possibly_back.is_zero() {
        view.say(format!(
            "With what can be asked for and may come back, {}.",
            show.money(found.lost_at_best()?)
        ));
    }
    let mut grid = Grid::new("ways", &["what can be done", "loses", "at best"]);
    for (what, loss, best) in ways(found, repair)? {
        grid.rows.push(vec![
            Cell::text(what),
            Cell::number(show.amount(loss)),
            best.map_or(Cell::Empty, |b| Cell::number(show.amount(b))),
        ]);
    }
    view.table(grid);
    view.table(charges(found, show));
    view.notes(notes(found, show)?);
    Ok(view)
}

/// As on every screen; of one part the goods are its price.
fn word(charge: &str, show: &Show) -> String {
    if charge == "goods" {
        "price".to_owned()
    } else {
        show.charge(charge)
    }
}

fn notes(found: &Returned, show: &Show) -> Result<Vec<String>, Overflow> {
    let (money, then, now) = found.refund;
    let mut lines: Vec<String> = found
        .lines
        .iter()
        .filter(|l| !l.text.is_empty())
        .map(|l| format!("{}: {}", word(l.charge, show), l.text))
        .collect();
    let moved = now.minus(then)?;
    if money.currency != show.currency && !found.went_back {
        let how = if moved.is_zero() {
            "as it was paid".to_owned()
        } else {
            format!(
                "{} {}",
                show.money(moved.abs()),
                if moved.is_negative() { "less" } else { "more" }
            )
        };
        let rate_day = found.rate_day.unwrap_or(found.day);
        let old = found.day.days_since(rate_day);
        let age = if old > 7 {
            format!(", the last there is and {old} days old")
        } else {
            String::new()
        };
        lines.push(format!(
            "The price comes back as {money} and is exchanged a second time: {} at the market rate of {rate_day}{age}, {how}; the card takes its own rate.",
            show.money(now)
        ));
    }
    if let Some((inside, row, text)) = &found.card_cover {
        let verdict = if *inside {
            "the price of one lies inside"
        } else {
            "the price of one lies outside"
        };
        lines.push(format!("Card cover, {verdict}: {text} ({row})."));
    }
    if let Some((months, until)) = found.warranty {
        let over = if until < found.day {
            ", which is over"
        } else {
            ""
        };
        lines.push(format!(
            "Warranty as told: {} from the arrival, until {until}{over}.",
            count(months as usize, "month", "months")
        ));
    }
    if !found.rules_known {
        lines.push("The tables of this destination do not say which charges come back: they are taken not to. Question its customs.".to_owned());
    }
    lines.push(
        "Possible is not income: customs and the carrier decide. Question the seller before sending anything, and how long it takes goods back."
            .to_owned(),
    );
    Ok(lines)
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
        "lost": show.exact(found.lost()?),
        "lost_at_best": show.exact(found.lost_at_best()?),
        "resale": found.resale.map(|r| show.exact(r)),
        "ways": ways.collect::<Vec<_>>(),
        "card_cover": found.card_cover.as_ref().map(|(inside, row, text)| json!({"inside": inside, "row": row, "text": text})),
        "warranty": found.warranty.map(|(months, until)| json!({"months": months, "until": until.to_string()})),
        "cautions": [],
    }))
}

/// Under which a ranking says what to think of before anything is ordered: always last.
pub(super) const HEADING: &str = "Before you order";

/// Beside a ranking: what each option loses when it does not fit and goes back, in the ranking's order.
pub(crate) fn beside_rank(
    losses: &[(String, Option<Dec>)],
    jurisdiction: &Jurisdiction<'_>,
    show: &Show,
    view: &mut View,
    json: &mut Value,
) {
    let known: Vec<String> = losses
        .iter()
        .filter_map(|(part, loss)| Some(format!("{part} {}", show.amount((*loss)?))))
        .collect();
    if let Some(options) = json.get_mut("options").and_then(Value::as_array_mut) {
        for (option, (_, loss)) in options.iter_mut().zip(losses) {
            option["lost_if_sent_back"] = json!(loss.map(|loss| show.exact(loss)));
        }
    }
    if known.is_empty() {
        return;
    }
    let usual = jurisdiction
        .tables
        .spreads
        .iter()
        .find(|row| row.rule.what == "wrong-part")
        .and_then(|row| row.rule.chance);
    let often = usual
        .map(|chance| {
            format!(" (about {chance} % of lines are the wrong part: common practice, no source)")
        })
        .unwrap_or_default();
    let headed = view
        .blocks
        .iter()
        .any(|block| matches!(block, Block::Heading(text) if text == HEADING));
    if !headed {
        view.head(HEADING);
    }
    view.notes(vec![format!(
        "sent back, each loses{often}: {}. `landwaiter return --part NAME` says why.",
        known.join("; ")
    )]);
}
