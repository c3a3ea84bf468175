//! What the rows of a law come to at a destination, in a buyer's words: taxes, duties with rates of their own, limits and fees. Rows
//! that exclude each other stand in one sentence, and what they all ask for stands in it once.

use super::law_here::Here;
use super::law_tax::{Bases, on_kits, range_of, rate_of, rates_of};
use super::law_when::{Sides, all_of, bound, common, money, simpler, words};
use crate::tables::law_names as names;
use crate::tables::{
    Charge, Coin, Collect, Drop, Evidence, Factor, Kind, Level, Op, Per, Provenance, RateFrom,
    Relief, SumExpr, TestPer,
};
use crate::tables::{Condition, LineFact, ParcelFact, Subject, When};
use crate::text::words::list;
use crate::units::{Currency, Dec};

/// Layers of rates that the table of duties shows.
const ORDINARY: [&str; 5] = [
    "mfn",
    "preference",
    "simplified",
    "remedy",
    "countervailing",
];

/// One thing that is said of rows, and when it holds.
struct Told {
    what: String,
    when: Sides,
    disputed: bool,
    /// The goods on which alone it is disputed.
    doubtful: Option<Vec<Condition>>,
}

impl Told {
    fn new(what: String, when: Sides, disputed: bool) -> Told {
        Told {
            what,
            when,
            disputed,
            doubtful: None,
        }
    }
}

/// Things said under one name, in the order of their first rows.
#[derive(Default)]
struct Lines(Vec<(String, Vec<Told>)>);

impl Lines {
    fn add(&mut self, name: String, told: Told) {
        let all = match self.0.iter().position(|(other, _)| *other == name) {
            Some(at) => self.0.get_mut(at),
            None => {
                self.0.push((name, Vec::new()));
                self.0.last_mut()
            }
        };
        let Some((_, all)) = all else { return };
        match all
            .iter_mut()
            .find(|other| other.what == told.what && other.disputed == told.disputed)
        {
            Some(other) => {
                other.when = simpler([std::mem::take(&mut other.when), told.when].concat());
            }
            None => all.push(told),
        }
    }

    fn sentences(self) -> Vec<String> {
        self.0
            .into_iter()
            .map(|(name, told)| sentence(&name, with_doubts(told)))
            .collect()
    }
}

/// What is the same for all goods, and disputed on some of them, is said once.
fn with_doubts(told: Vec<Told>) -> Vec<Told> {
    let (doubted, mut sure): (Vec<Told>, Vec<Told>) =
        told.into_iter().partition(|one| one.disputed);
    let mut left = Vec::new();
    for doubt in doubted {
        let (goods, rest) = without_goods(&doubt.when);
        let twin = sure.iter_mut().find(|one| {
            one.what == doubt.what && one.doubtful.is_none() && without_goods(&one.when).1 == rest
        });
        match twin.filter(|_| !goods.is_empty()) {
            Some(twin) => (twin.when, twin.doubtful) = (rest, Some(goods)),
            None => left.push(doubt),
        }
    }
    sure.into_iter().chain(left).collect()
}

/// The goods that alternatives name, and the alternatives without them.
fn without_goods(when: &Sides) -> (Vec<Condition>, Sides) {
    let is_goods = |c: &Condition| c.subject == Subject::Line(LineFact::Commodity);
    let mut goods: Vec<Condition> = Vec::new();
    for one in when.iter().flatten().filter(|c| is_goods(c)) {
        if !goods.contains(one) {
            goods.push(one.clone());
        }
    }
    (
        goods,
        when.iter()
            .map(|side| side.iter().filter(|c| !is_goods(c)).cloned().collect())
            .collect(),
    )
}

/// `NAME, what all ask for: what one comes to and when; what another does`.
fn sentence(name: &str, mut told: Vec<Told>) -> String {
    let mut all: Sides = told.iter().flat_map(|one| one.when.clone()).collect();
    let shared = common(&mut all);
    told.iter_mut().for_each(|one| {
        one.when
            .iter_mut()
            .for_each(|side| side.retain(|c| !shared.contains(c)));
    });
    let chosen: Vec<Condition> = all
        .iter()
        .flatten()
        .filter(|c| c.op == Op::Equal)
        .cloned()
        .collect();
    let stands_back = |c: &Condition| {
        matches!(c.subject, Subject::Choice(_) | Subject::Trait(_))
            && c.op == Op::Unequal
            && chosen
                .iter()
                .any(|o| o.subject == c.subject && o.word == c.word)
    };
    told.iter_mut().for_each(|one| {
        one.when
            .iter_mut()
            .for_each(|side| side.retain(|c| !stands_back(c)));
    });
    told.iter_mut()
        .for_each(|one| one.what = of_that(&one.what, &shared));
    let first = told.first().map(|one| one.what.clone()).unwrap_or_default();
    let parts: Vec<String> = told
        .iter()
        .enumerate()
        .map(|(at, one)| part(one, if at == 0 { "" } else { &first }))
        .collect();
    let head: Vec<String> = [name.to_owned(), words(&vec![shared])]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    let head = head.join(", ");
    let said = if head.is_empty() {
        parts.join("; ")
    } else {
        format!("{head}: {}", parts.join("; "))
    };
    format!("{}.", capital(&said))
}

/// One thing and when it holds; what it begins with like the first is left out.
fn part(one: &Told, first: &str) -> String {
    let least = ", at least ";
    let same = one
        .what
        .split_once(least)
        .zip(first.split_once(least))
        .filter(|((mine, _), (theirs, _))| mine == theirs);
    let what = same.map_or_else(
        || one.what.clone(),
        |((_, rest), _)| format!("at least {rest}"),
    );
    let when = words(&one.when);
    let doubt = match &one.doubtful {
        Some(goods) => format!(" (disputed for {})", words(&vec![goods.clone()])),
        None if one.disputed => " (disputed)".to_owned(),
        None => String::new(),
    };
    if when.is_empty() {
        format!("{what}{doubt}")
    } else {
        format!("{what}, {when}{doubt}")
    }
}

/// A share of what must be due is one of `that`.
fn of_that(what: &str, shared: &[Condition]) -> String {
    let due = shared.iter().find_map(|c| match &c.subject {
        Subject::Sum(sum) if c.op == Op::Above && c.number.is_some_and(Dec::is_zero) => {
            Some(all_of(sum, "and"))
        }
        _ => None,
    });
    due.map_or_else(
        || what.to_owned(),
        |due| what.replace(&format!(" of {due}"), " of that"),
    )
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// Duties that no table of ordinary rates shows, and taxes without a rate of `taxes.csv`.
pub(super) fn duties(here: Here<'_, '_>) -> Vec<String> {
    let mut lines = Lines::default();
    for (charge, stamp, when) in here.charges() {
        let added = match &charge.rate_from {
            Some(RateFrom::Tariff(layers)) => layers
                .iter()
                .any(|layer| !ORDINARY.contains(&layer.as_str())),
            Some(RateFrom::Taxes(_)) => on_kits(charge),
            None => true,
        };
        let bearing = matches!(
            charge.kind,
            Kind::Duty | Kind::Remedy | Kind::Tax | Kind::SaleTax
        );
        if let Some(what) = amount(charge, here).filter(|_| added && bearing) {
            lines.add(
                names::charge(&charge.id),
                Told::new(what, when, stamp.disputed()),
            );
        }
    }
    lines.sentences()
}

/// Fees of the carrier and of the authority.
pub(super) fn fees(here: Here<'_, '_>) -> Vec<String> {
    let mut lines: Vec<(String, Lines)> = Vec::new();
    for (charge, stamp, when) in here.charges().filter(|(charge, stamp, when)| {
        charge.kind == Kind::Fee && !holds_a_place(charge) && !is_hearsay(charge, stamp, when)
    }) {
        let Some(what) = amount(charge, here) else {
            continue;
        };
        let known = names::known_charge(&charge.id);
        let name = known.unwrap_or(if charge.carriers {
            "the carrier"
        } else {
            "the authority"
        });
        let key = known.map_or_else(|| charge.id.clone(), str::to_owned);
        let told = Told::new(what, when, stamp.disputed());
        match lines.iter_mut().find(|(other, _)| *other == key) {
            Some((_, all)) => all.add(name.to_owned(), told),
            None => {
                let mut all = Lines::default();
                all.add(name.to_owned(), told);
                lines.push((key, all));
            }
        }
    }
    lines
        .into_iter()
        .flat_map(|(_, all)| all.sentences())
        .collect()
}

/// A carrier's fee of nothing: it only holds the place of what the carrier asks, which is not known.
fn holds_a_place(charge: &Charge) -> bool {
    charge.carriers
        && charge.flat.is_none_or(Dec::is_zero)
        && charge.percent.is_none()
        && charge.rate_from.is_none()
}

/// A carrier's fee from memory that counts only where it is chosen: it is a range to try, and no summary tells it beside fees that
/// were read.
fn is_hearsay(charge: &Charge, stamp: &Provenance, when: &Sides) -> bool {
    let chosen = |c: &Condition| matches!(c.subject, Subject::Choice(_)) && c.op == Op::Equal;
    charge.carriers
        && stamp.evidence == Evidence::Recalled
        && when.iter().all(|side| side.iter().any(chosen))
}

/// Carriers' fees that are not known by some way of sending, or only where one is chosen.
pub(super) fn fees_missing(here: Here<'_, '_>) -> Option<&'static str> {
    let told = |way: &str| {
        let fits = |c: &Condition| match c.subject {
            Subject::Parcel(ParcelFact::Channel) => (c.op == Op::Equal) == (c.word == way),
            Subject::Choice(_) => c.op == Op::Unequal,
            _ => true,
        };
        let mut fees = here.charges().filter(|(charge, ..)| {
            charge.kind == Kind::Fee && charge.carriers && !holds_a_place(charge)
        });
        fees.any(|(.., when)| when.iter().any(|side| side.iter().all(fits)))
    };
    Some(match (told("post"), told("courier")) {
        (true, true) => return None,
        (false, false) => "fees of post and couriers",
        (true, false) => "fees of couriers",
        (false, true) => "fees of the post",
    })
}

/// What a charge comes to, without how it is rounded; nothing where its rates are all zero.
fn amount(c: &Charge, here: Here<'_, '_>) -> Option<String> {
    if c.flat.is_some_and(Dec::is_zero) && c.percent.is_none() && c.rate_from.is_none() {
        return Some("nothing".to_owned());
    }
    let rated = match (&c.rate_from, c.percent, &c.of) {
        (Some(RateFrom::Tariff(layers)), ..) => Some(range_of(layers, here)?),
        (Some(RateFrom::Taxes(tax)), _, Some(of)) => {
            let rate = rate_of(tax, here).filter(|_| on_kits(c));
            let what = rate.map_or_else(
                || format!("{} on", names::tax(tax)),
                |rate| format!("{rate} of"),
            );
            Some(format!("{what} {}", all_of(of, "and")))
        }
        (None, Some(percent), Some(of)) if percent.0 == Dec::HUNDRED => Some(whole(of, here)),
        // the table of duties has said of what a duty is
        (None, Some(percent), Some(of))
            if c.kind == Kind::Duty
                && (of.names().eq(["customs_value"]) || of.names().eq(["dutiable_value"])) =>
        {
            Some(percent.to_string())
        }
        (None, Some(percent), Some(of)) => Some(format!("{percent} of {}", all_of(of, "and"))),
        _ => None,
    };
    let flat = c
        .flat
        .map(|flat| format!("{}{}", money(flat, c.currency.map(Coin::from)), per(c)));
    let mut parts = vec![
        [rated, flat]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" + ")
            .replace("+ -", "less "),
    ];
    parts.extend(match (c.min.filter(|least| !least.is_zero()), c.max) {
        (Some(least), Some(most)) => Some(format!(
            "{least} to {}",
            money(most, c.currency.map(Coin::from))
        )),
        (Some(least), None) => Some(format!(
            "at least {}",
            money(least, c.currency.map(Coin::from))
        )),
        (None, most) => {
            most.map(|most| format!("at most {}", money(most, c.currency.map(Coin::from))))
        }
    });
    parts.extend(
        c.group
            .as_ref()
            .filter(|g| g.least)
            .map(|_| "if that is less".to_owned()),
    );
    Some(parts.join(", "))
}

/// The whole of a sum: of one row its own words, of a floor less other duties what tops them up.
fn whole(of: &SumExpr, here: Here<'_, '_>) -> String {
    let named = |name: &str| {
        here.charges()
            .find(|(charge, ..)| charge.id == name && charge.kind == Kind::Value)
            .map(|(charge, ..)| charge)
    };
    if let [first, rest @ ..] = of.terms.as_slice()
        && let Some(charge) = named(&first.name)
    {
        let floor = match &charge.rate_from {
            Some(RateFrom::Tariff(layers)) => rates_of(layers, here),
            _ => None,
        };
        if let Some(floor) = floor.filter(|_| rest.iter().any(|term| term.minus)) {
            return format!("ordinary duty topped up to {floor}");
        }
        if let Some(own) =
            amount(charge, here).filter(|_| rest.is_empty() && charge.percent.is_some())
        {
            return own;
        }
    }
    match of.terms.as_slice() {
        [one] if matches!(one.factor, Factor::Trait(_)) => "the rate that you give".to_owned(),
        _ => all_of(of, "and"),
    }
}

fn per(c: &Charge) -> String {
    match (c.per, c.level) {
        (Per::Consignment, _) => String::new(),
        (Per::Item { above: 0 }, Level::Digits(digits)) => format!(" per {digits}-digit code"),
        (Per::Item { above: 0 }, Level::Item(_)) => " per kind of goods".to_owned(),
        (Per::Item { above: 0 }, _) => " for each item".to_owned(),
        (Per::Item { above }, _) => format!(" for each item above {above}"),
        (Per::Piece, _) => " for each piece".to_owned(),
        (Per::Kilogram, _) => " for each kilogram".to_owned(),
    }
}

/// What a limit does, when it does, and whether that is disputed.
type Effect = (String, Sides, bool);

/// What a limit is held against.
type Limit = (String, TestPer, Op, Dec, Currency);

/// Limits, those of one sum in one sentence: `Up to 135 GBP of goods in a parcel: no duty and no anti-dumping`.
pub(super) fn limits(here: Here<'_, '_>) -> Vec<String> {
    let mut found: Vec<(Limit, Vec<Effect>)> = Vec::new();
    for row in here.rows(&here.jurisdiction.law.reliefs) {
        let (r, when) = (&row.rule, here.sides(&row.rule.when));
        if when.is_empty() || from_territories(&r.when, here) {
            continue;
        }
        let limit = (
            all_of(&r.tests, "and"),
            r.per,
            r.op,
            r.amount,
            r.currency.currency,
        );
        let at = found
            .iter()
            .position(|(other, _)| *other == limit)
            .unwrap_or_else(|| {
                found.push((limit, Vec::new()));
                found.len() - 1
            });
        let Some((_, all)) = found.get_mut(at) else {
            continue;
        };
        for effect in effects(r, here) {
            match all
                .iter_mut()
                .find(|(other, _, disputed)| *other == effect && *disputed == row.stamp.disputed())
            {
                Some((_, other, _)) => {
                    *other = simpler([std::mem::take(other), when.clone()].concat());
                }
                None => all.push((effect, when.clone(), row.stamp.disputed())),
            }
        }
    }
    let heads: Vec<String> = found.iter().map(|(limit, _)| head(limit)).collect();
    found
        .into_iter()
        .map(|(limit, effects)| once(&limit.0, &sentence(&head(&limit), alike(effects)), &heads))
        .collect()
}

/// Whether a row is for parcels from small territories alone, which the summary leaves to the whole list.
fn from_territories(when: &When, here: Here<'_, '_>) -> bool {
    let places = &here.jurisdiction.tables.destinations;
    let served = |word: &str| {
        let mut places = places.iter();
        places.any(|d| d.rule.country.code() == word || d.rule.group == word)
    };
    let territory = |c: &Condition| {
        let sent_from = c.subject == Subject::Parcel(ParcelFact::Dispatch) && c.op == Op::Equal;
        sent_from && !served(&c.word)
    };
    !when.is_always() && when.any.iter().all(|side| side.iter().any(territory))
}

/// A limit that begins where a lower one on the same sum ends does not say so: the lower one is told beside it.
fn once(sum: &str, said: &str, heads: &[String]) -> String {
    let ends = format!(" of {sum}: ");
    let shorter = said.split_once(&ends).and_then(|(before, effects)| {
        let (before, lower) = before.rsplit_once(", above ")?;
        let told = format!("up to {lower} of {sum} ");
        let beside = heads.iter().any(|head| head.starts_with(&told));
        beside.then(|| format!("{before}: {effects}"))
    });
    shorter.unwrap_or_else(|| said.to_owned())
}

/// Effects in words; where nothing is left, in short.
fn together(mut effects: Vec<String>) -> String {
    let all = ["no duty", "no tax", "no anti-dumping"];
    if all.iter().all(|one| effects.iter().any(|own| own == one)) {
        effects.retain(|own| !all.contains(&own.as_str()));
        effects.insert(0, "no duty or tax".to_owned());
    }
    list(&effects, "and")
}

/// Effects that hold at the same time are one.
fn alike(effects: Vec<Effect>) -> Vec<Told> {
    let mut found: Vec<(Vec<String>, Sides, bool)> = Vec::new();
    for (effect, when, disputed) in effects {
        match found
            .iter_mut()
            .find(|(_, other, doubt)| *other == when && *doubt == disputed)
        {
            Some((all, ..)) => all.push(effect),
            None => found.push((vec![effect], when, disputed)),
        }
    }
    found
        .into_iter()
        .map(|(all, when, disputed)| Told::new(together(all), when, disputed))
        .collect()
}

fn head((sum, per, op, amount, currency): &Limit) -> String {
    let of = match per {
        TestPer::Consignment => "in a parcel",
        TestPer::Line => "on a line",
        TestPer::Piece => "in one piece",
    };
    if *op == Op::AtLeast && amount.is_zero() {
        "at any value".to_owned()
    } else {
        format!(
            "{} {} of {sum} {of}",
            bound(*op),
            money(*amount, Some(Coin::from(*currency)))
        )
    }
}

fn effects(r: &Relief, here: Here<'_, '_>) -> Vec<String> {
    let borne = |gone: &&Drop| !matches!(gone, Drop::Kind(Kind::Remedy)) || Bases::has_remedy(here);
    let mut found: Vec<String> = r
        .drops
        .iter()
        .filter(borne)
        .map(|gone| format!("no {}", dropped(gone)))
        .collect();
    let collected = match r.collect {
        Some(Collect::AtSale) => Some("tax at the checkout only"),
        Some(Collect::AtBorder) => Some("the tax is taken at the border"),
        Some(Collect::Nowhere) if r.drops.is_empty() => Some("no tax"),
        _ => None,
    };
    if r.collect == Some(Collect::AtSale) {
        found.retain(|effect| effect != "no tax");
    }
    found.extend(collected.map(str::to_owned));
    found
}

fn dropped(gone: &Drop) -> String {
    match gone {
        Drop::Kind(Kind::Remedy) => "anti-dumping".to_owned(),
        Drop::Kind(Kind::SaleTax) => "tax at the checkout".to_owned(),
        Drop::Kind(kind) => kind.name().to_owned(),
        Drop::Charge(id) => names::charge(id),
    }
}
