//! Rows of law in plain words: what a charge, a limit and a rate say.

use super::plain;
use crate::tables::{
    Certainty, Charge, Collect, Drop, Evidence, Kind, Level, Per, Provenance, RateFrom, Relief,
    TariffRow, TestPer,
};
use crate::units::{Currency, Dec};

/// `disputed, read 2026-11-25`.
pub(super) fn marks(stamp: &Provenance) -> String {
    let day = stamp
        .checked
        .map(|day| format!(" {day}"))
        .unwrap_or_default();
    format!("{}{day}", known(stamp.certainty, stamp.evidence))
}

/// Whether a row counts and how it is known: that it is certain is not said, since what is from memory would then be certain.
pub(super) fn known(certainty: Certainty, evidence: Evidence) -> String {
    let certainty = match certainty {
        Certainty::Certain => "",
        Certainty::Disputed => "disputed, ",
        Certainty::Announced => "announced, ",
        Certainty::Annulled => "struck down, ",
    };
    let evidence = match evidence {
        Evidence::Read => "read",
        Evidence::Inferred => "inferred from what was read",
        Evidence::Recalled => "from memory",
    };
    format!("{certainty}{evidence}")
}

/// The same in the whole list, which also says where the authority's own text was not read.
pub(super) fn marks_at_length(stamp: &Provenance) -> String {
    let unread = if stamp.evidence == Evidence::Read {
        ""
    } else {
        ", the authority's own text was not read"
    };
    format!("{}{unread}", marks(stamp))
}

pub(super) fn with_when(what: String, when: &crate::tables::When) -> String {
    if when.is_always() {
        what
    } else {
        format!("{what}; when {}", plain::when(when))
    }
}

pub(super) fn kind_word(charge: &Charge) -> &'static str {
    match charge.kind {
        Kind::Value => "a figure that nobody pays",
        Kind::Duty => "customs duty",
        Kind::Remedy => "anti-dumping or countervailing duty",
        Kind::Tax => "tax at the border",
        Kind::SaleTax => "tax that the seller takes",
        Kind::Fee if charge.carriers => {
            "fee of the carrier, in whose place the seller's `handling` stands"
        }
        Kind::Fee => "fee of the authority",
    }
}

pub(super) fn charge(c: &Charge) -> String {
    let base = c.of.as_ref().map(plain::sum).unwrap_or_default();
    let rated = match (&c.percent, &c.rate_from) {
        (Some(percent), _) => Some(format!("{percent} of {base}")),
        (None, Some(RateFrom::Tariff(layers))) if layers.len() > 1 => Some(format!(
            "the rate of the first of {} that has one, of {base}",
            plain::quoted(layers, "and")
        )),
        (None, Some(RateFrom::Tariff(layers))) => Some(format!(
            "the rate of {} on {base}",
            plain::quoted(layers, "and")
        )),
        (None, Some(RateFrom::Taxes(tax))) => Some(format!("the rate of tax `{tax}` on {base}")),
        (None, None) if base.is_empty() => None,
        (None, None) => Some(base),
    };
    let flat = c
        .flat
        .map(|flat| money(flat, c.currency) + per(c.per).as_str());
    let mut parts = vec![
        [rated, flat]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(" + "),
    ];
    parts.extend(
        c.min
            .map(|least| format!("at least {}", money(least, c.currency))),
    );
    parts.extend(
        c.max
            .map(|most| format!("at most {}", money(most, c.currency))),
    );
    parts.push(level(c.level));
    parts.extend(c.round.map(|round| format!("rounded {}", rounded(round))));
    let group = |g: &crate::tables::Group| {
        format!(
            "of the group `{}` {} counts",
            g.name,
            if g.least {
                "only the least"
            } else {
                "only the first that holds"
            }
        )
    };
    parts.extend(c.group.as_ref().map(group));
    parts.join(", ")
}

pub(super) fn money(amount: Dec, currency: Option<Currency>) -> String {
    currency.map_or_else(
        || amount.to_string(),
        |c| format!("{} {c}", amount.grouped(c.digits())),
    )
}

/// The amount of a limit, and by which rate it is turned where that is not the rate in force.
pub(super) fn limit(r: &Relief) -> String {
    format!(
        "{} {}",
        r.amount.grouped(r.currency.currency.digits()),
        r.currency.in_words()
    )
}

pub(super) fn per(per: Per) -> String {
    match per {
        Per::Consignment => String::new(),
        Per::Item { above: 0 } => " for each item".to_owned(),
        Per::Item { above } => format!(" for each item above {above}"),
        Per::Piece => " for each piece".to_owned(),
        Per::Kilogram => " for each kilogram".to_owned(),
    }
}

pub(super) fn level(level: Level) -> String {
    match level {
        Level::Line => "line by line".to_owned(),
        Level::Item(digits) => format!("item by item (alike in {digits} digits and description)"),
        Level::Consignment => "over the parcel".to_owned(),
    }
}

pub(super) fn rounded(round: crate::units::Rounding) -> String {
    use crate::units::Mode;
    let way = match round.mode {
        Mode::HalfUp => "half up",
        Mode::HalfEven => "half to even",
        Mode::HalfDown => "half down",
        Mode::Down => "down",
        Mode::Up => "up",
        Mode::Ceiling => "upwards",
        Mode::Floor => "downwards",
    };
    format!("{way} to {}", round.step)
}

pub(super) fn relief(r: &Relief) -> String {
    let of = match r.per {
        TestPer::Consignment => "of the parcel",
        TestPer::Line => "of a line",
        TestPer::Piece => "of one piece",
    };
    let limit = format!(
        "{} {of} {} {}",
        plain::sum(&r.tests),
        plain::compared(r.op),
        limit(r)
    );
    let gone: Vec<String> = r.drops.iter().map(dropped).collect();
    let gone = if gone.is_empty() {
        String::new()
    } else {
        format!("not due: {}", gone.join(", "))
    };
    let taken = match r.collect {
        Some(Collect::AtSale) => "the seller takes the tax",
        Some(Collect::AtBorder) => "the tax is taken at the border",
        Some(Collect::Nowhere) => "no tax is taken",
        None => "",
    };
    let then: Vec<&str> = [gone.as_str(), taken]
        .into_iter()
        .filter(|text| !text.is_empty())
        .collect();
    format!("where {limit}, {}", then.join("; "))
}

pub(super) fn dropped(gone: &Drop) -> String {
    match gone {
        Drop::Kind(Kind::Remedy) => "anti-dumping".to_owned(),
        Drop::Kind(kind) => kind.name().to_owned(),
        Drop::Charge(id) => format!("`{id}`"),
    }
}

pub(super) fn rate(row: &TariffRow) -> String {
    let each = |amount: Option<Dec>, what: &str| {
        amount.map(|a| format!("{} a {what}", money(a, row.currency)))
    };
    let parts = [
        row.percent.map(|p| p.to_string()),
        each(row.per_kg, "kilogram"),
        each(row.per_piece, "piece"),
    ];
    parts.into_iter().flatten().collect::<Vec<_>>().join(" + ")
}
