//! The verdict in sentences to read aloud: sums rounded for speech, every assumption named.

use super::gallery::Showing;
use super::mark::mark_text;
use super::redact::in_words;
use super::telling::sentences;
use crate::compare::Compared;
use crate::landed::disputed_kinds;
use crate::rank::{Ranking, Stop};
use crate::text::visible;
use crate::text::words::{count, few, list};
use crate::units::{Dec, HomeMoney, Mode, Overflow};

/// The sentences, each on a line, and a last line that says who calculated them.
pub(crate) fn speech(showing: &Showing<'_>) -> Result<String, Overflow> {
    let mut said = vec![total(showing)?, door(showing)?];
    said.extend(sentences(showing, &|amount| about(showing, amount))?);
    said.extend([standing(showing)?, next(showing)?, assumptions(showing)]);
    let lines: Vec<String> = said
        .iter()
        .map(|sentence| visible(sentence).into_owned() + "\n")
        .collect();
    Ok(mark_text(&lines.concat()))
}

/// `about 2,940 pounds`: to ten above a thousand, to one above ten.
fn about(showing: &Showing<'_>, amount: Dec) -> String {
    if showing.figures.hidden.is_some() {
        return showing.figures.amount(amount.abs()).replace('%', "percent");
    }
    let shown = showing
        .figures
        .show
        .rate
        .convert(amount.abs())
        .unwrap_or(amount);
    let ten = Dec::from(10_u32);
    let rounded = if shown >= Dec::THOUSAND {
        shown
            .over(ten)
            .and_then(|tens| tens.round_to(0, Mode::HalfUp).times(ten))
            .unwrap_or(shown)
    } else {
        shown.round_to(0, Mode::HalfUp)
    };
    format!(
        "about {} {}",
        rounded.grouped(0),
        spoken(showing.figures.show.currency.code())
    )
}

/// Whether a sum is none, as it is said.
fn is_nothing(showing: &Showing<'_>, amount: Dec) -> bool {
    if showing.figures.hidden.is_some() {
        return amount.is_zero();
    }
    let shown = showing
        .figures
        .show
        .rate
        .convert(amount.abs())
        .unwrap_or(amount);
    shown.round_to(0, Mode::HalfUp).is_zero()
}

/// The money as it is said.
fn spoken(code: &str) -> &str {
    match code {
        "GBP" => "pounds",
        "EUR" => "euros",
        "USD" => "US dollars",
        "CAD" => "Canadian dollars",
        "AUD" => "Australian dollars",
        "NZD" => "New Zealand dollars",
        "SGD" => "Singapore dollars",
        "CHF" => "Swiss francs",
        "JPY" => "yen",
        "KRW" => "won",
        "NOK" => "Norwegian kroner",
        other => other,
    }
}

fn total(showing: &Showing<'_>) -> Result<String, Overflow> {
    let totals = &showing.landed.totals;
    let (sum, tags) = (totals.landed()?.amount(), totals.tags.amount());
    let more = sum.minus(tags)?;
    let word = if more.is_negative() { "less" } else { "more" };
    let day = showing.ask.date.in_words();
    let disputed = in_dispute(showing);
    Ok(if more.is_zero() {
        let at_the_door = if showing.figures.hidden.is_some() {
            "costs at the door".to_owned()
        } else {
            format!("comes to {} at the door,", about(showing, sum))
        };
        format!("On {day}, this build {at_the_door} as much as on its price tags{disputed}.")
    } else if showing.figures.hidden.is_some() {
        let percent = if tags.is_zero() {
            Dec::ZERO
        } else {
            more.abs().times(Dec::HUNDRED)?.over(tags)?
        };
        let percent = in_words(percent).replace('%', "percent");
        format!(
            "On {day}, this build costs {percent} {word} at the door than on its price tags{disputed}."
        )
    } else {
        let more = if is_nothing(showing, more) {
            "no more".to_owned()
        } else {
            format!("{} {word}", about(showing, more))
        };
        format!(
            "On {day}, this build comes to {} at the door, {more} than its price tags{disputed}.",
            about(showing, sum)
        )
    })
}

/// What it comes to if the law is read otherwise, and what is in dispute; nothing where nothing is.
fn in_dispute(showing: &Showing<'_>) -> String {
    let Some((other, rows)) = showing.landed.decided_otherwise().ok().flatten() else {
        return String::new();
    };
    let kinds = disputed_kinds(&rows);
    let what = if kinds.is_empty() {
        "what".to_owned()
    } else {
        list(&kinds, "and")
    };
    let one = kinds.len() < 2;
    let of_it = if showing.figures.hidden.is_some() {
        " of that sum"
    } else {
        ""
    };
    let said = if rows.iter().any(|row| !row.counted) {
        format!(
            "with {what}{}",
            if one {
                ", which is not counted"
            } else {
                ", which are not counted"
            }
        )
    } else {
        format!(
            "without {what}{}",
            if !one {
                " that are in dispute"
            } else if kinds.is_empty() {
                " is in dispute"
            } else {
                " that is in dispute"
            }
        )
    };
    format!("; {said}, {}{of_it}", about(showing, other.amount()))
}

fn door(showing: &Showing<'_>) -> Result<String, Overflow> {
    let a = &showing.landed.totals.amounts;
    // the tags are the prices as typed: before codes, and with a seller's own tax in them
    let (on_tags, above) = {
        let tags = showing.landed.totals.tags;
        let less = tags.minus(a.goods)?;
        if less.is_negative() {
            (HomeMoney::ZERO, less.abs())
        } else {
            (less, HomeMoney::ZERO)
        }
    };
    let tax = if showing.figures.show.tax() == "VAT" {
        "V A T"
    } else {
        "G S T"
    };
    let pieces = [
        ("shipping", a.freight.plus(a.insurance)?),
        ("duty", a.duty),
        ("anti-dumping duty", a.remedy),
        (tax, a.tax()?),
        ("handling fees", a.handling),
        ("card fees", a.card_fee),
        ("goods charged above their tags", above),
    ];
    let off = [
        ("discounts", a.discount),
        (
            "what stands on the tags and is not charged, such as a seller's own tax",
            on_tags,
        ),
    ];
    let least = if showing.figures.hidden.is_some() {
        Dec::ZERO
    } else {
        Dec::ONE
    };
    let told = |pieces: &[(&str, HomeMoney)]| -> Vec<String> {
        let worth = pieces.iter().filter(|(_, amount)| amount.amount() > least);
        worth
            .map(|(name, amount)| format!("{} for {name}", about(showing, amount.amount())))
            .collect()
    };
    let (added, off) = (told(&pieces), told(&off));
    let taken = if off.is_empty() {
        String::new()
    } else {
        format!("; taken off are {}", list(&off, "and"))
    };
    Ok(if added.is_empty() {
        format!("Nothing of any size is added on the way{taken}.")
    } else {
        format!("Added on the way are {}{taken}.", list(&added, "and"))
    })
}

fn standing(showing: &Showing<'_>) -> Result<String, Overflow> {
    let Some(comparison) = showing.comparison.filter(|c| !c.bikes.is_empty()) else {
        if let Some(scale) = &showing.more.whole {
            return Ok(format!(
                "It weighs about {} kilograms on the scale.",
                scale.likely().0.over(Dec::THOUSAND)?.fixed(1)
            ));
        }
        let mass = showing.landed.totals.mass;
        return Ok(if mass.0.is_zero() {
            "Nobody has told yet what it weighs.".to_owned()
        } else {
            format!(
                "Its parts weigh about {} kilograms together.",
                mass.0.over(Dec::THOUSAND)?.fixed(1)
            )
        });
    };
    let kilograms = comparison.mine.mass.0.over(Dec::THOUSAND)?.fixed(1);
    let against = count(comparison.bikes.len(), "complete bike", "complete bikes");
    let missing: Vec<String> = comparison
        .mine
        .empty
        .iter()
        .map(|place| place.replace('-', " "))
        .collect();
    if !missing.is_empty() {
        return Ok(format!(
            "It weighs about {kilograms} kilograms so far; parts of the bike are missing, {}, so there is no verdict beside {against}.",
            few(&missing)
        ));
    }
    if showing.figures.hidden.is_some() {
        return Ok(format!(
            "It weighs about {kilograms} kilograms; how it compares in price with {against} is left out here."
        ));
    }
    let beaten = comparison.beaten();
    let unknown = comparison.mine.price_unknown.len();
    if unknown > 0 {
        let parts = count(unknown, "part", "parts");
        return Ok(format!(
            "It weighs about {kilograms} kilograms; beside {against} nothing can be said on price, as what {parts} cost to buy again is not known."
        ));
    }
    let paid = match comparison.mine.compared {
        Compared::Paid if comparison.mine.has_no_price() => "by what was paid for it ",
        Compared::Paid => "in part by what was paid for it ",
        Compared::Replacement | Compared::Nothing => "",
    };
    Ok(if beaten.is_empty() {
        format!(
            "It weighs about {kilograms} kilograms, and {paid}none of the {against} beside it is beaten on price and mass at once."
        )
    } else {
        format!(
            "It weighs about {kilograms} kilograms, and {paid}is both cheaper and lighter than {beaten}, out of {against}."
        )
    })
}

fn next(showing: &Showing<'_>) -> Result<String, Overflow> {
    let ladder = showing.ladder()?;
    let Some((at, rung)) = ladder
        .rungs
        .iter()
        .enumerate()
        .find(|(_, rung)| rung.saved.0.is_positive())
    else {
        let unsure = showing.ranking.is_some_and(|ranking| {
            ranking
                .options
                .iter()
                .any(|option| option.difference.saved.0.is_positive())
        });
        let word = if unsure {
            "is sure to take grams off"
        } else {
            "takes grams off for money"
        };
        return Ok(format!("No upgrade in the book {word}."));
    };
    let free = !rung.cost.is_positive() || is_nothing(showing, rung.cost);
    let grams = rung.saved.0.fixed(0);
    let Some(ranking) = showing.ranking.filter(|_| !ladder.climbed) else {
        let step = if at == 0 {
            "The next step"
        } else {
            "The next step that takes grams off"
        };
        let cost = if free {
            "for no more money".to_owned()
        } else {
            format!("for {} more", about(showing, rung.cost))
        };
        return Ok(format!(
            "{step} would be {}, {grams} grams lighter {cost}.",
            rung.what
        ));
    };
    let cost = if free {
        "no more".to_owned()
    } else {
        format!("{} more", about(showing, rung.cost))
    };
    Ok(format!(
        "{} If you want one added to the order, {}{} saves {grams} grams and costs {cost}.",
        ended(ranking),
        rung.what,
        in_place_of(ranking, &rung.what)
    ))
}

/// What an upgrade takes off the bike, as it is said; nothing where it fills an empty place or is the same part from elsewhere.
fn in_place_of(ranking: &Ranking, what: &str) -> String {
    let option = ranking.options.iter().find(|one| one.title() == what);
    let off: Vec<&str> = option
        .iter()
        .flat_map(|one| one.replaces.iter().filter(|name| **name != one.part))
        .map(String::as_str)
        .collect();
    if off.is_empty() {
        String::new()
    } else {
        format!(" in place of {}", few(&off))
    }
}

/// Why a ladder ends before it takes a gram off, as it is said.
fn ended(ranking: &Ranking) -> &'static str {
    match &ranking.ladder.stop {
        Stop::NothingLeft => "No step of the ladder is sure to take a gram off.",
        Stop::Worth { .. } => {
            "No step of the ladder that takes grams off is worth its money to the rider."
        }
        Stop::Mass if ranking.is_floor() => {
            "No step of the ladder is needed, as the bike is within its weight limit as far as its weight is known."
        }
        Stop::Mass => "No step of the ladder is needed, as the bike is within its weight limit.",
        Stop::Budget { .. } => "No step of the ladder that takes grams off is within the budget.",
        Stop::Long => "The ladder is long, and its first steps take no gram off.",
    }
}

fn assumptions(showing: &Showing<'_>) -> String {
    let mut named: Vec<&str> = Vec::new();
    let landed = showing.landed;
    for (id, words) in [
        (
            "freight-unknown",
            "some freight is not known and not counted",
        ),
        ("card-fee-unknown", "no card fee is counted"),
        (
            "origin-assumed",
            "some goods are taken to be made where they are sent from",
        ),
        (
            "channel-assumed",
            "some parcels are taken to travel by courier",
        ),
        (
            "transit-unknown",
            "the rules of the order date are used where days in transit are unknown",
        ),
        (
            "customs-rate",
            "market exchange rates stand in for customs rates",
        ),
        (
            "limit-rate",
            "limits in euro are turned at the customs rate, as October's is not in the tables",
        ),
        ("mass-guessed", "some masses are usual ones"),
        (
            "no-rate",
            "duty is not known for some goods and not counted",
        ),
        (
            "charge-ended",
            "a duty or a tax ended, and what followed is not known and not counted",
        ),
        (
            "fee-ended",
            "a fee ended, and what followed is not known and not counted",
        ),
        ("places-empty", "some places on the bike are still empty"),
    ] {
        let own = landed
            .cautions
            .iter()
            .chain(showing.comparison.iter().flat_map(|c| &c.cautions));
        if own.into_iter().any(|caution| caution.id == id) {
            named.push(words);
        }
    }
    let open = if landed.open.is_empty() {
        String::new()
    } else {
        format!(
            "; {} without a price yet",
            count(landed.open.len(), "row is", "rows are")
        )
    };
    if named.is_empty() {
        return format!("It is an estimate, not a ruling: customs and the carrier decide{open}.");
    }
    format!(
        "It is an estimate, not a ruling, and assumes this: {}{open}.",
        list(&named, "and")
    )
}
