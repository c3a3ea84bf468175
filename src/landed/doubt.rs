//! What must be said about one consignment: what was assumed, what is missing, what to ask before ordering.

use std::collections::BTreeMap;

use super::bill::Bill;
use super::border::{BorderAssessment, SoldAsOne};
use super::caution::{Cautions, Saying};
use super::choice::UnknownChoice;
use super::disputed::own_rows;
use super::jurisdiction::Jurisdiction;
use super::parcel::{Consignment, ConsignmentState};
use super::price::Priced;
use super::sums::ChargeBreakdown;
use super::wanting::wanted;
use crate::book::{Book, Channel, Discount, Included, Part, Sender};
use crate::rules::{Limit, Line};
use crate::tables::law_names::charge;
use crate::tables::{
    Certainty, Collect, Condition, CustomsExchange, Kind as ChargeKind, Op, ParcelFact, Provenance,
    RowRef, Subject, When,
};
use crate::text::words;
use crate::units::{Country, Currency, Date, Dec, HomeMoney, Mode, Overflow, Percent};

/// What cards often charge on foreign currency, in hundredths of a percent; common practice, no source.
const USUAL_CARD_FEE: i64 = 275;

/// By how many hundredths of a percent a customs authority's own exchange rate may differ from the market's; common practice, no source.
const CUSTOMS_RATE_OFF: i64 = 200;

/// A market rate older than this many days is said.
const OLD_RATE: i64 = 7;

/// What must be said of a consignment's price, whether or not it crosses a border.
pub(super) fn about_price(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    to_seller: HomeMoney,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(), Overflow> {
    let about = [consignment.id.as_str()];
    if priced.freight_unknown {
        let saying = Saying::new("Shipping is not known and not in the total")
            .so("Ask the seller and fill in `freight`.")
            .costs_unknown();
        cautions.say("freight-unknown", saying, &about);
    }
    let carried = priced.lines.iter().any(|line| !line.freight.is_zero());
    if !priced.guessed.is_empty() && carried {
        let saying = Saying::new(
            "Parts without a weight share the shipping by the usual weight of their place",
        )
        .so("Fill in `mass_g`.");
        cautions.say("mass-guessed", saying, &priced.guessed);
    }
    let foreign = priced.currency != jurisdiction.currency();
    if foreign && jurisdiction.ask.card_fee.is_none() {
        let text = format!(
            "No card fee is counted; many cards charge 2 to 3 % on foreign currency, and {} % would be this much",
            Dec::new(USUAL_CARD_FEE, 2).fixed(2)
        );
        let fee = share_of(to_seller, USUAL_CARD_FEE, jurisdiction)?;
        let saying = Saying::new(text)
            .so("Set `card_fee` to what your card charges, or to 0.")
            .costs(fee);
        cautions.say("card-fee-unknown", saying, &about);
    }
    if let Some((_, age)) = jurisdiction.old_rate(priced.currency, consignment.ordered) {
        let text = format!("The exchange rate of {} is {age} days old", priced.currency);
        let saying = Saying::new(text).so("Import a newer one with `rates import FILE`.");
        cautions.say("rate-old", saying, &[priced.currency.code()]);
    }
    Ok(())
}

/// A number of hundredths of a percent of an amount, to the destination's smallest coin.
fn share_of(
    amount: HomeMoney,
    hundredths: i64,
    jurisdiction: &Jurisdiction<'_>,
) -> Result<HomeMoney, Overflow> {
    let share = amount.part(Percent(Dec::new(hundredths, 2)))?.amount();
    let digits = jurisdiction.currency().digits();
    Ok(HomeMoney::of(share.round_to(digits, Mode::HalfUp)))
}

impl Jurisdiction<'_> {
    /// The day of the market rate that a day has, and its age, where it is so old that it is said.
    pub(crate) fn old_rate(&self, from: Currency, day: Date) -> Option<(Date, i64)> {
        let quote = if from == self.currency() {
            None
        } else {
            self.market_rate(from, day).ok()
        };
        let found = quote.and_then(|quote| quote.day)?;
        Some((found, day.days_since(found))).filter(|(_, age)| *age > OLD_RATE)
    }
}

/// What must be said of a consignment that crosses a border.
pub(super) fn about_consignment(
    consignment: &Consignment<'_>,
    priced: &Priced<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    (read_net, amounts): (bool, &ChargeBreakdown),
    cautions: &mut Cautions,
) -> Result<(), Overflow> {
    about_price(
        consignment,
        priced,
        amounts.to_seller()?,
        jurisdiction,
        cautions,
    )?;
    about_seller(consignment, door, read_net, cautions);
    about_taking(consignment, door, jurisdiction, cautions);
    about_fee(consignment, door, cautions);
    about_rates((consignment, priced), door, amounts, jurisdiction, cautions)?;
    about_lines(consignment, door, jurisdiction, cautions);
    about_gift(consignment, door, cautions);
    about_open_digits(consignment, door, cautions);
    about_changes(consignment, door, jurisdiction, cautions);
    Ok(())
}

/// What the seller's row leaves open, and what its terms mean.
fn about_seller(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    read_net: bool,
    cautions: &mut Cautions,
) {
    let about = [consignment.id.as_str()];
    let Some(seller) = consignment.seller else {
        return;
    };
    if seller.channel.is_none() && consignment.channel == Channel::Courier {
        let saying = Saying::new("The seller's `channel` is empty, so a courier is assumed")
            .so("Ask how it is sent and enter `post` or `courier`.")
            .costs_unknown();
        cautions.say("channel-assumed", saying, &about);
    }
    if seller.transit_days.is_none()
        && consignment.arrival == consignment.ordered
        && consignment.kind == ConsignmentState::ToOrder
    {
        let saying =
            Saying::new("`transit_days` is empty, so the rules of the order date are used")
                .so("Enter the days in transit.")
                .costs_unknown();
        cautions.say("transit-unknown", saying, &about);
    }
    if consignment.pays_duty() {
        let saying = Saying::new("\"All duties paid\" on an expensive part is a warning sign: the charges are shown but taken to be in the price, and if too little was declared, you are liable")
            .so("Ask the seller for the customs declaration.");
        cautions.say("duties-paid", saying, &about);
    }
    let at_sale = door.assessment.collect.contains(&Collect::AtSale);
    if at_sale && seller.collects_tax != Some(true) && seller.prices_include != Included::SaleTax {
        let saying = Saying::new(
            "Below the limit the seller must charge the tax at the checkout, and it is counted",
        )
        .so("Check that the checkout shows it, and keep the invoice.");
        cautions.say("tax-at-sale", saying, &about);
    }
    if seller.prices_include == Included::SaleTax && !read_net {
        let saying = Saying::new("These prices include the tax, but the parcel is above the limit for tax at the checkout, so it is due again at customs")
            .so("Ask the seller for a price without tax.");
        cautions.say("tax-over-limit", saying, &about);
    }
    if consignment.sender == Sender::Gift {
        let saying = Saying::new("A gift is unpaid, occasional and between private people; something you bought is not a gift")
            .so("If you paid for it, give its `sender` as `business` or `private`.");
        cautions.say("gift", saying, &about);
    }
    if consignment.sender == Sender::Private {
        let saying = Saying::new(
            "A private seller charges no tax, so it is counted at customs where the rules put it",
        )
        .so("Expect to pay it at the door.");
        cautions.say("private-sender", saying, &about);
    }
}

/// Duty that a seller takes with the order is shown as due at the border where its rows ask who takes the tax and none of them is a
/// tax at the sale.
fn about_taking(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let takes = |when: &When| {
        let says = |c: &Condition| {
            matches!(c.subject, Subject::Parcel(ParcelFact::CollectsTax))
                && c.op == Op::Equal
                && c.word == "yes"
        };
        when.conditions().any(says)
    };
    let rows = || jurisdiction.law.charges.iter();
    let at_sale = rows().any(|row| row.rule.kind == ChargeKind::SaleTax);
    let counted = |row: &RowRef| {
        let mut entries = door.assessment.entries.iter();
        entries.any(|e| e.stamp.row == *row && e.amount.is_some())
    };
    let taken = !at_sale
        && rows().any(|row| {
            row.rule.kind == ChargeKind::Duty && takes(&row.rule.when) && counted(&row.stamp.row)
        });
    if taken {
        let saying = Saying::new("The seller takes the charges with the order; they are shown as due at customs and counted once")
            .so("Keep the invoice: what the checkout took is not due again at the door.");
        cautions.say("charges-with-order", saying, &[&consignment.id]);
    }
}

/// A gift of several items that is above a limit as a whole: many laws free whole items up to it, which the tables do not choose.
fn about_gift(consignment: &Consignment<'_>, door: &BorderAssessment, cautions: &mut Cautions) {
    if consignment.sender != Sender::Gift {
        return;
    }
    let limits = &door.assessment.limits;
    let missed = limits.iter().find(|limit| {
        let freed = |other: &Limit| other.holds && other.collect == Some(Collect::Nowhere);
        limit.collect == Some(Collect::Nowhere) && !limits.iter().any(freed)
    });
    let Some(limit) = missed else {
        return;
    };
    let pieces: u32 =
        (door.parcel.lines.iter().map(|line| line.pieces)).fold(0, u32::saturating_add);
    let small = |line: &Line| {
        let goods = door.parcel.customs.convert(line.goods.amount());
        let each = goods.and_then(|goods| goods.over(Dec::from(line.pieces.max(1))));
        each.is_ok_and(|each| each <= limit.amount)
    };
    let lines = door.parcel.lines.iter().zip(&consignment.rows);
    let free: Vec<&str> = (lines.filter(|(line, _)| small(line)))
        .map(|(_, row)| row.name.as_str())
        .collect();
    if pieces > 1 && !free.is_empty() {
        let text = format!(
            "The gift is above {} as a whole, so all of it is charged; where the law frees whole items that come to no more than that together, less is due (`{}`)",
            limit.text, limit.id
        );
        let saying = Saying::new(text)
            .so("Ask the carrier to declare each item with its own value.")
            .costs_unknown();
        cautions.say("gift-items", saying, &free);
    }
}

/// A carrier who advances charges takes a fee; where neither the tables nor the book give one, that is said.
fn about_fee(consignment: &Consignment<'_>, door: &BorderAssessment, cautions: &mut Cautions) {
    let acting = || {
        door.assessment
            .entries
            .iter()
            .filter(|e| e.amount.is_some_and(Dec::is_positive))
    };
    let at_the_door = |kind| {
        matches!(
            kind,
            ChargeKind::Duty | ChargeKind::Remedy | ChargeKind::Tax
        )
    };
    let advanced = acting().any(|e| e.kind.is_some_and(at_the_door));
    let told = consignment.handling.is_some()
        || acting().any(|e| door.prepared.program.is_carriers(&e.id));
    if advanced && !told && !consignment.pays_duty() {
        let saying = Saying::new("The handling fee is not known and not in the total")
            .so("Ask the carrier and enter it in `handling`.")
            .costs_unknown();
        cautions.say("carriers-fee-unknown", saying, &[&consignment.id]);
    }
}

fn about_rates(
    (consignment, priced): (&Consignment<'_>, &Priced<'_>),
    door: &BorderAssessment,
    amounts: &ChargeBreakdown,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) -> Result<(), Overflow> {
    if door.customs.stands_in {
        let border = amounts
            .duty
            .plus(amounts.remedy)?
            .plus(amounts.tax_at_border)?;
        let most = share_of(border, CUSTOMS_RATE_OFF, jurisdiction)?;
        let saying = Saying::new("Customs uses its own exchange rate; the market rate was used, and the charges may differ by 1 to 2 %")
            .so("Import the rates that customs publish with `rates import FILE`, or allow for it.")
            .costs(most);
        cautions.say("customs-rate", saying, &[consignment.id.as_str()]);
    }
    let ecb_month =
        jurisdiction.destination.exchange == CustomsExchange::EcbMonth && !door.customs.stands_in;
    if ecb_month
        && jurisdiction.currency() != Currency::EUR
        && priced.currency != jurisdiction.currency()
    {
        let saying = Saying::new("The national customs authority sets its own monthly rate; the European Central Bank's of the same day was used")
            .so("Import the authority's rate with `rates import FILE`, or allow for it.");
        cautions.say("customs-rate", saying, &[priced.currency.code()]);
    }
    for (limit, day) in &door.prepared.limits_standing_in {
        let text = format!(
            "Limits in {limit} are converted at the rate of {day}, the first working day of October before the year of arrival; the tables do not have it, and the customs rate in force was used"
        );
        let saying = Saying::new(text).so("Check a parcel that is close to a limit.");
        cautions.say("limit-rate", saying, &[&consignment.id]);
    }
    let cut = "Digits after the sixth are not known to the destination's tables, so the first six and the place decide";
    for (at, digits) in &door.unknown_digits {
        if let Some(row) = consignment.rows.get(*at) {
            let saying = Saying::new(format!("{cut} (`{digits}`)"))
                .so("Check `commodity` against the destination's tariff.");
            cautions.say("digits-unknown", saying, &[&row.name]);
        }
    }
    Ok(())
}

/// Goods for which no rate of duty is known, each with what would have to be told of it.
fn about_gaps(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    for at in &door.assessment.gaps {
        let (Some(part), Some(line)) = (consignment.rows.get(*at), door.parcel.lines.get(*at))
        else {
            continue;
        };
        let entries = door.assessment.entries.iter();
        let owing: Vec<&RowRef> = entries
            .filter(|e| e.owes && e.unrated.contains(at))
            .map(|e| &e.stamp.row)
            .collect();
        let wanted = wanted(
            jurisdiction,
            &line.places,
            &line.commodity,
            &line.traits,
            (consignment.arrival, &owing),
        );
        let say = if wanted.is_empty() {
            "Ask customs or the carrier.".to_owned()
        } else {
            format!("Enter in `traits` what it is: {wanted}.")
        };
        let saying = Saying::new(
            "No duty rate is known for these goods, and their duty is not in the total",
        )
        .so(say)
        .costs_unknown();
        cautions.say("no-rate", saying, &[&part.name]);
    }
}

/// Duties on goods of one country that count only for a part which is said to bear them: where nothing is said, that is asked.
fn about_marks(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let rows = jurisdiction.law.charges.iter().filter(|row| {
        row.rule.kind == ChargeKind::Duty
            && row.stamp.in_force(consignment.arrival)
            && jurisdiction.can_hold(&row.rule.when)
    });
    for row in rows {
        for (at, part) in consignment.rows.iter().enumerate() {
            let program = &door.prepared.program;
            if let Some((name, value)) = program.left_to_say(&row.rule.when, &door.parcel, at) {
                let text = format!(
                    "It is not known whether these goods bear this duty, and it is not counted: {} (`{}`)",
                    charge(&row.rule.id),
                    row.rule.id
                );
                let saying = Saying::new(text)
                    .so(format!(
                        "Ask the seller; if they do, enter `{name}={value}` in `traits`."
                    ))
                    .costs_unknown();
                cautions.say("duty-to-ask", saying, &[&part.name]);
            }
        }
    }
}

/// What must be said of single rows of a parcel.
fn about_lines(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let name = |at: &usize| consignment.rows.get(*at).map(|row| row.name.as_str());
    about_gaps(consignment, door, jurisdiction, cautions);
    about_marks(consignment, door, jurisdiction, cautions);
    for one in &door.assessment.ended {
        let about = with_parts(consignment, one.lines.iter().filter_map(name));
        let id = if one.kind == ChargeKind::Fee {
            "fee-ended"
        } else {
            "charge-ended"
        };
        let text = format!(
            "`{}` ended {} ({}), and what followed is not known and not in the total",
            one.id, one.on, one.row
        );
        let saying = Saying::new(text)
            .so("Look up what applies now.")
            .costs_unknown()
            .of_parcel(&consignment.id);
        cautions.say(id, saying, &about);
    }
    for part in door.ungranted.iter().filter_map(name) {
        let saying = Saying::new("No row of the tables gives these goods a lower duty when they are sent this way (agreements ask that goods come straight from the partner, or unaltered under customs control), so the ordinary rate is counted")
            .so("Ask the carrier whether an agreement applies.")
            .costs_unknown();
        cautions.say("preference-unknown", saying, &[part]);
    }
    for row in consignment
        .rows
        .iter()
        .filter(|row| row.preference && row.origin.is_none())
    {
        let saying =
            Saying::new("A lower duty needs a stated origin, so the ordinary rate is counted")
                .so("Fill in `origin`.");
        cautions.say("preference-without-origin", saying, &[&row.name]);
    }
    for row in consignment.rows.iter().filter(|row| {
        consignment.kind == ConsignmentState::ToOrder
            && row.places.iter().any(|place| place == "battery")
    }) {
        let saying = Saying::new("Carriers have rules for lithium batteries")
            .so("Ask the carrier before you order.");
        cautions.say("lithium", saying, &[&row.name]);
    }
}

/// A parcel and some of its parts, for messages that name both.
fn with_parts<'a>(
    consignment: &'a Consignment<'_>,
    parts: impl Iterator<Item = &'a str>,
) -> Vec<&'a str> {
    std::iter::once(consignment.id.as_str())
        .chain(parts)
        .collect()
}

/// Says what hangs on digits that stop above rows which differ.
fn about_open_digits(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    cautions: &mut Cautions,
) {
    for open in door.open_digits.iter().filter(|_| !consignment.pays_duty()) {
        let Some(row) = consignment.rows.get(open.at) else {
            continue;
        };
        let filled = row.commodity.len() > open.digits.len()
            && row.commodity.starts_with(open.digits.as_str());
        let shown = if filled {
            format!("`{}`, read as `{}`,", row.commodity, open.digits)
        } else {
            format!("`{}`", open.digits)
        };
        let text = format!(
            "The commodity code {shown} is too short to settle the rate{}, so the highest is counted",
            own_rows(&open.rows)
        );
        let saying = Saying::new(text)
            .so("Enter the whole code in `commodity`.")
            .costs(HomeMoney::of(open.hangs));
        cautions.say("digits-open", saying, &[&row.name]);
    }
}

/// Says what a thing sold as one would cost under the other headings of its places.
pub(super) fn say_set(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    set: &SoldAsOne,
    beside: &[(&str, HomeMoney)],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let (Some(row), Some(line)) = (consignment.rows.get(set.at), door.parcel.lines.get(set.at))
    else {
        return;
    };
    let other = |(digits, difference): &(&str, HomeMoney)| {
        format!("as `{digits}` {}", more_or_less(*difference, jurisdiction))
    };
    let others: Vec<String> = beside
        .iter()
        .filter(|(_, difference)| !difference.is_zero())
        .map(other)
        .collect();
    if others.is_empty() {
        return;
    }
    let (digits, others) = (&line.commodity, words::list(&others, "and"));
    let largest = beside.iter().map(|(_, difference)| difference.abs()).max();
    let (text, action) = match &set.row {
        Some(by) => (
            format!(
                "Sold as one, it is one line of the declaration: `{digits}` counts, what gives it its character (general rule of interpretation 3(b) of the Harmonized System), which is disputed ({by}); {others}"
            ),
            "Enter the digits in `commodity` where customs have decided, or split the row where the pieces are priced apart.",
        ),
        None => (
            format!(
                "Sold as one, it is one line of the declaration: `{digits}` counts, the last in numerical order of what its places would be (general rule of interpretation 3(c) of the Harmonized System); {others}"
            ),
            "If one piece gives it its character, enter that piece's digits in `commodity`, or split the row where the pieces are priced apart.",
        ),
    };
    let saying = Saying::new(text)
        .so(action)
        .costs(largest.unwrap_or(HomeMoney::ZERO));
    cautions.say("set-heading", saying, &[&row.name]);
}

/// What to do where the origin is not known.
const ASK_ORIGIN: &str =
    "Ask the seller where it was made, not where it is sent from, and enter it in `origin`.";

/// A country's name, or what was typed.
fn in_words(country: &str) -> String {
    Country::parse(country).map_or_else(|| country.to_owned(), Country::in_words)
}

/// `lower`, or `higher`: the amount stands beside it.
fn lower_or_higher(difference: HomeMoney) -> &'static str {
    if difference.is_negative() {
        "lower"
    } else {
        "higher"
    }
}

/// `12.40 GBP more`.
fn more_or_less(difference: HomeMoney, jurisdiction: &Jurisdiction<'_>) -> String {
    let word = if difference.is_negative() {
        "less"
    } else {
        "more"
    };
    format!("{} {word}", jurisdiction.money(difference.abs()))
}

/// Whether the book leaves open if the seller takes the tax with the order, and rows of the law in force ask for it.
pub(super) fn hangs_on_the_taker(
    consignment: &Consignment<'_>,
    jurisdiction: &Jurisdiction<'_>,
) -> bool {
    let untold = consignment.seller.is_some_and(|seller| {
        seller.collects_tax.is_none() && seller.prices_include != Included::SaleTax
    });
    let asks = |when: &When| {
        let says = |c: &Condition| matches!(c.subject, Subject::Parcel(ParcelFact::CollectsTax));
        when.conditions().any(says)
    };
    let law = &jurisdiction.law;
    let charges = law.charges.iter().map(|r| (&r.stamp, &r.rule.when));
    let reliefs = law.reliefs.iter().map(|r| (&r.stamp, &r.rule.when));
    let mut rows = charges.chain(reliefs);
    let bought = matches!(consignment.sender, Sender::Business | Sender::Marketplace);
    untold && bought && rows.any(|(stamp, when)| stamp.in_force(consignment.arrival) && asks(when))
}

/// Says what it would change if the seller took the tax with the order, where the book does not tell.
pub(super) fn say_taker(
    consignment: &Consignment<'_>,
    difference: HomeMoney,
    cautions: &mut Cautions,
) {
    if difference.is_zero() {
        return;
    }
    let text = format!(
        "It is not known whether the seller takes your country's charges with the order; if so, the total is {}",
        lower_or_higher(difference)
    );
    let saying = Saying::new(text)
        .so("See what the checkout shows and enter it in `collects_tax`.")
        .costs(difference);
    cautions.say("seller-takes-tax", saying, &[&consignment.id]);
}

/// Origins under which a remedy would be due on lines that state none.
pub(super) fn other_origins(consignment: &Consignment<'_>, door: &BorderAssessment) -> Vec<String> {
    let unstated = consignment
        .rows
        .iter()
        .zip(&door.parcel.lines)
        .filter(|(row, _)| row.origin.is_none());
    let mut found: Vec<String> = unstated
        .flat_map(|(_, line)| door.prepared.program.remedy_origins(line))
        .collect();
    found.sort();
    found.dedup();
    found
}

/// Lines that state no origin and bear anti-dumping by the one that is assumed.
pub(super) fn assumed_and_dumped(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
) -> Result<Vec<usize>, Overflow> {
    let mut found = Vec::new();
    for (at, _) in consignment
        .rows
        .iter()
        .enumerate()
        .filter(|(_, row)| row.origin.is_none())
    {
        if door
            .assessment
            .of_line(ChargeKind::Remedy, at)?
            .is_positive()
        {
            found.push(at);
        }
    }
    Ok(found)
}

/// Says that anti-dumping hangs on an origin nobody has stated.
pub(super) fn say_assumed(
    consignment: &Consignment<'_>,
    bearing: &[usize],
    saved: HomeMoney,
    cautions: &mut Cautions,
) {
    let parts = bearing.iter().filter_map(|at| consignment.rows.get(*at));
    let about = with_parts(consignment, parts.map(|row| row.name.as_str()));
    let text = format!(
        "No country of origin is given, so {} is assumed and anti-dumping duty is counted; made elsewhere, the total is lower",
        consignment.dispatch.in_words()
    );
    let saying = Saying::new(text)
        .so(ASK_ORIGIN)
        .costs(saved)
        .of_parcel(&consignment.id);
    cautions.say("origin-assumed", saying, &about);
}

/// Lines that state their origin, claim no preference, and would be granted one.
pub(super) fn claimable(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
) -> Result<Vec<usize>, Overflow> {
    let mut parcel = door.parcel.clone();
    let mut open = Vec::new();
    for (at, (row, line)) in consignment.rows.iter().zip(&mut parcel.lines).enumerate() {
        if row.origin.is_some() && !line.preference {
            line.preference = true;
            open.push(at);
        }
    }
    let ungranted = if open.is_empty() {
        Vec::new()
    } else {
        door.prepared.program.ungranted(&parcel)?
    };
    open.retain(|at| ungranted.binary_search(at).is_err());
    Ok(open)
}

/// A fact of goods and the value that makes a row serve them.
type Fact = (String, String);

/// Facts that nobody has told and under which a remedy would be due on lines that bear none, each with those parts.
pub(super) fn facts_not_told<'a>(
    consignment: &'a Consignment<'_>,
    door: &BorderAssessment,
) -> Result<BTreeMap<Fact, Vec<&'a str>>, Overflow> {
    let mut found: BTreeMap<Fact, Vec<&str>> = BTreeMap::new();
    for (at, (row, line)) in consignment.rows.iter().zip(&door.parcel.lines).enumerate() {
        if (door.assessment.of_line(ChargeKind::Remedy, at)?).is_positive() {
            continue;
        }
        for fact in door.prepared.program.remedy_facts(line) {
            found.entry(fact).or_default().push(&row.name);
        }
    }
    Ok(found)
}

/// Says what a fact that nobody has told would cost.
pub(super) fn say_fact(
    (name, value): &Fact,
    parts: &[&str],
    more: HomeMoney,
    cautions: &mut Cautions,
) {
    let text = format!(
        "Anti-dumping duty depends on `{name}`, which is not given: with {value} it is due, and none is counted"
    );
    let saying = Saying::new(text)
        .so(format!(
            "Enter it in `traits`, as `{name}={value}` or with another value."
        ))
        .costs(more);
    cautions.say("fact-not-told", saying, parts);
}

/// Says what another origin would cost.
pub(super) fn say_origin(
    consignment: &Consignment<'_>,
    origin: &str,
    difference: HomeMoney,
    cautions: &mut Cautions,
) {
    if difference.is_zero() {
        return;
    }
    let assumed = consignment.rows.iter().filter(|row| row.origin.is_none());
    let about = with_parts(consignment, assumed.map(|row| row.name.as_str()));
    let text = format!(
        "No country of origin is given, so {} is assumed; made in {}, the total is {}",
        consignment.dispatch.in_words(),
        in_words(origin),
        lower_or_higher(difference)
    );
    let saying = Saying::new(text)
        .so(ASK_ORIGIN)
        .costs(difference)
        .of_parcel(&consignment.id);
    cautions.say("origin-assumed", saying, &about);
}

/// Rows of the destination that change in the thirty days after an arrival that is only expected; announced changes
/// within a year; struck-down rows with a refund possible. A row that cannot touch this parcel, because it is for another channel or
/// other goods, is not named.
fn about_changes(
    consignment: &Consignment<'_>,
    door: &BorderAssessment,
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    let program = &door.prepared.program;
    let touches =
        |when: &When| jurisdiction.can_hold(when) && program.may_touch(when, &door.parcel);
    let charges = jurisdiction
        .law
        .charges
        .iter()
        .filter(|r| touches(&r.rule.when))
        .map(|r| (r.rule.id.as_str(), &r.stamp));
    let reliefs = jurisdiction
        .law
        .reliefs
        .iter()
        .filter(|r| touches(&r.rule.when))
        .map(|r| (r.rule.id.as_str(), &r.stamp));
    let mut turns: Vec<String> = Vec::new();
    for (id, stamp) in charges.chain(reliefs) {
        let starts = stamp
            .span
            .from
            .map(|from| from.days_since(consignment.arrival));
        let ends = stamp.span.to.map(|to| to.days_since(consignment.arrival));
        let soon = |days: Option<i64>| days.is_some_and(|days| (1..=30).contains(&days));
        if stamp.counts() && (soon(starts) || soon(ends.map(|days| days + 1))) {
            let change = format!("{} (`{id}`), {}", charge(id), stamp.span);
            if !turns.contains(&change) {
                turns.push(change);
            }
        }
        about_pending(consignment, (id, stamp), (starts, ends), cautions);
    }
    if !turns.is_empty() {
        let text = format!(
            "The rules change within 30 days after the expected arrival: {}",
            turns.join("; ")
        );
        let saying = Saying::new(text)
            .so("Order early enough, or look at the cost with a later `--arrival`.")
            .costs_unknown();
        cautions.say("rules-change", saying, &[&consignment.id]);
    }
}

/// Says that a row is announced to hold within a year or by now, or that it was struck down; neither counts. `starts` and `ends`
/// are in how many days after the arrival it begins and ends.
fn about_pending(
    consignment: &Consignment<'_>,
    (id, stamp): (&str, &Provenance),
    (starts, ends): (Option<i64>, Option<i64>),
    cautions: &mut Cautions,
) {
    let in_view = starts.is_none_or(|days| days <= 366) && ends.is_none_or(|days| days >= 0);
    if stamp.certainty == Certainty::Announced && in_view {
        let text = format!(
            "Announced for later and not counted: {} (`{id}`), {}, {}",
            charge(id),
            stamp.span,
            short(stamp)
        );
        let saying = Saying::new(text).so("Order before it holds, or expect it.");
        cautions.say("announced", saying, &[]);
    }
    if stamp.certainty == Certainty::Annulled && stamp.span.holds(consignment.arrival) {
        let text = format!("Struck down and not counted: {} (`{id}`)", charge(id));
        let saying = Saying::new(text).so("If you are charged it, ask the carrier about a refund.");
        cautions.say("annulled", saying, &[&consignment.id]);
    }
}

/// What the book or the question says and no rule asks: choices, regions, discounts.
pub(super) fn about_unused(
    book: &Book,
    rows: &[&Part],
    bills: &[Bill],
    jurisdiction: &Jurisdiction<'_>,
    cautions: &mut Cautions,
) {
    cautions.extend(
        jurisdiction
            .unknown_choices()
            .into_iter()
            .map(UnknownChoice::caution)
            .collect(),
    );
    about_region(jurisdiction, cautions);
    let used = |d: &Discount| {
        bills.iter().any(|b| {
            b.seller == d.seller
                && b.trail
                    .iter()
                    .any(|s| s.kind == "discount" && s.id == d.code)
        })
    };
    let sells = |d: &Discount| {
        rows.iter()
            .any(|row| row.seller.as_deref() == Some(d.seller.as_str()) && row.price.is_some())
    };
    for discount in book.discounts.iter().filter(|d| sells(d) && !used(d)) {
        let day = jurisdiction.ask.date;
        let saying = match (discount.span.from, discount.span.to) {
            (Some(from), _) if day < from => {
                Saying::new(format!("This discount starts on {from} and is not counted"))
                    .so("Order then, if that is soon enough.")
            }
            (_, Some(to)) if to < day => {
                Saying::new(format!("This discount ended on {to} and is not counted"))
                    .so("Remove its row.")
            }
            _ => Saying::new("This discount is not used: its minimum spend is not reached, or another code of its group saves more")
                .so("Use the codes that `cost --trail` names."),
        };
        cautions.say("discount-unused", saying, &[&discount.code]);
    }
    unused_names(rows, jurisdiction, cautions);
}

/// What must be said of the region that is told, or that none is.
fn about_region(jurisdiction: &Jurisdiction<'_>, cautions: &mut Cautions) {
    let country = jurisdiction.ask.to.in_words();
    let region = jurisdiction.region.as_str();
    let everywhere =
        jurisdiction.law.taxes.iter().any(|row| {
            row.rule.country == jurisdiction.ask.to.code() && row.rule.region.is_empty()
        });
    let asked_about = !region.is_empty() || !everywhere;
    let regions: Vec<&str> = if asked_about {
        jurisdiction
            .law
            .regions(jurisdiction.ask.to.code())
            .into_iter()
            .collect()
    } else {
        Vec::new()
    };
    if !region.is_empty() && !regions.contains(&region) {
        let which = if regions.is_empty() {
            String::new()
        } else {
            format!(" (regions with rules: {})", regions.join(", "))
        };
        let saying = Saying::new(format!(
            "The region `{region}` changes nothing in {country}{which}"
        ))
        .so("Check how it is spelt, or leave it out.");
        cautions.say("region-unused", saying, &[]);
    }
    if let Some(said) = &jurisdiction.of_territory {
        cautions.say("territory", said.clone(), &[]);
    }
    if let Some(first) = regions.first().filter(|_| region.is_empty() && !everywhere) {
        let example = format!("{}-{first}", jurisdiction.ask.to);
        let saying = Saying::new(format!(
            "Tax in {country} depends on the region, which is not given"
        ))
        .so(format!("Add it, as in `--to {example}`."))
        .costs_unknown();
        cautions.say("region-unknown", saying, &[]);
    }
}

/// Names of fits and traits that nothing looks at and that are near one that something does.
fn unused_names(rows: &[&Part], jurisdiction: &Jurisdiction<'_>, cautions: &mut Cautions) {
    if rows
        .iter()
        .all(|row| row.fits.is_empty() && row.traits.is_empty())
    {
        return;
    }
    let keys: Vec<&str> = jurisdiction
        .tables
        .fits
        .iter()
        .map(|row| row.rule.key.as_str())
        .collect();
    let asked: Vec<&str> = jurisdiction
        .law
        .traits()
        .into_iter()
        .chain(["material"])
        .collect();
    let mut look = |row: &Part, column: &str, name: &str, known: &[&str]| {
        if known.contains(&name) {
            return;
        }
        if let Some(near) = words::nearest(name, known.iter().copied()) {
            let saying = Saying::new(format!("`{name}` in `{column}` has no effect"))
                .so(format!("Did you mean `{near}`?"));
            cautions.say("name-unused", saying, &[&row.name]);
        }
    };
    for row in rows {
        row.fits
            .keys()
            .for_each(|name| look(row, "fits", name, &keys));
        row.traits
            .keys()
            .for_each(|name| look(row, "traits", name, &asked));
    }
}

/// A source cut at a word's end where it is long.
fn short(stamp: &Provenance) -> String {
    const MOST: usize = 90;
    if stamp.source.chars().count() <= MOST {
        return stamp.source.to_string();
    }
    let cut: String = stamp.source.chars().take(MOST).collect();
    let (whole, _) = cut.rsplit_once(' ').unwrap_or((&cut, ""));
    format!("{} …", whole.trim_end_matches([',', ';', ':']))
}
