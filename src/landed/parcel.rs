//! Which rows of a book travel together, when, and how: the consignments that customs looks at.

use std::collections::{BTreeMap, BTreeSet};

use super::jurisdiction::Jurisdiction;
use crate::book::{
    Book, Channel, Freight, HandlingFee, Included, Insurance, Part, Seller, Sender, Standing,
    consignment_of,
};
use crate::text::{Diagnostic, Location, Problems, Spot, words};
use crate::units::{Country, Currency, Date, Dec, number};

/// What a consignment is to its buyer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ConsignmentState {
    /// To be ordered.
    ToOrder,
    /// The seller is paid, the charges are to come.
    OnOrder,
    /// Nothing more to pay; calculated by its own dates.
    InHand,
    /// A gift parcel.
    Gift,
}

/// Rows that travel together.
#[derive(Debug, Clone)]
pub(crate) struct Consignment<'a> {
    /// `SELLER` or `SELLER/PARCEL`.
    pub(crate) id: String,
    /// Who sends it; none for what is bought at home over the counter.
    pub(crate) seller: Option<&'a Seller>,
    /// What it is to its buyer.
    pub(crate) kind: ConsignmentState,
    /// Where it leaves from.
    pub(crate) dispatch: Country,
    /// How it travels.
    pub(crate) channel: Channel,
    /// Who sent it.
    pub(crate) sender: Sender,
    /// The day of ordering.
    pub(crate) ordered: Date,
    /// The day of arrival.
    pub(crate) arrival: Date,
    /// What carrying costs.
    pub(crate) freight: Freight,
    /// What insuring costs.
    pub(crate) insurance: Option<Insurance>,
    /// The carrier's own fee.
    pub(crate) handling: Option<HandlingFee>,
    /// Its rows, by part name, then in the order of their offers.
    pub(crate) rows: Vec<&'a Part>,
    /// Rows in the boxes of its rows, which add their mass.
    pub(crate) bundled: Vec<&'a Part>,
}

impl Consignment<'_> {
    /// What tax is to be taken out of its prices: none where it crosses no border, since a seller takes their own tax
    /// off for export alone.
    pub(super) fn tax_to_take_out(&self, jurisdiction: &Jurisdiction<'_>) -> Included {
        let abroad = self
            .seller
            .filter(|_| !jurisdiction.is_home(self.dispatch.code()));
        abroad.map_or(Included::Nothing, |seller| seller.prices_include)
    }

    /// Where the book says what it is paid in.
    pub(super) fn at_currency(&self) -> Option<Location> {
        let cells = self
            .rows
            .iter()
            .map(|row| row.at.cell("currency"))
            .chain(self.seller.map(|s| s.at.cell("currency")));
        let mut cells = cells.filter(|cell| !cell.is_empty());
        cells.next().map(|cell| cell.place())
    }

    /// Whether the same rows travel in the same way, as what is ordered today.
    pub(super) fn is_like(&self, other: &Consignment<'_>) -> bool {
        let way = |one: &Consignment<'_>| {
            let days = (one.ordered, one.arrival, one.kind);
            (one.dispatch, one.channel, one.sender, days)
        };
        let costs = (&self.freight, self.insurance, self.handling);
        let ordered = |row: &Part| (row.price, row.currency, row.quantity);
        let same = |(one, other): (&&Part, &&Part)| {
            one.standing == other.standing
                && one.name == other.name
                && one.seller == other.seller
                && ordered(one) == ordered(other)
        };
        self.kind == ConsignmentState::ToOrder
            && self.id == other.id
            && way(self) == way(other)
            && costs == (&other.freight, other.insurance, other.handling)
            && self.bundled.is_empty()
            && other.bundled.is_empty()
            && self.rows.len() == other.rows.len()
            && self.rows.iter().zip(&other.rows).all(same)
    }

    /// Whether its price holds all charges at the door.
    pub(crate) fn pays_duty(&self) -> bool {
        self.seller.is_some_and(Seller::pays_duty)
    }

    /// Its Incoterms.
    pub(crate) fn terms(&self) -> &str {
        self.seller.map_or("", |s| s.terms.as_str())
    }
}

/// The consignments of some rows of a book, by id. Rows that need no calculation (paid and in hand, given, open,
/// bundled) are left out.
pub(crate) fn group<'a>(
    book: &'a Book,
    rows: &[&'a Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> Vec<Consignment<'a>> {
    let boxed: Vec<&'a Part> = book.boxed().collect();
    group_of(book, rows, &boxed, jurisdiction, problems)
}

/// The same as [`group`] for rows that need not be in the book; `boxed` is what lies in the boxes of any rows.
pub(super) fn group_of<'a>(
    book: &'a Book,
    rows: &[&'a Part],
    boxed: &[&'a Part],
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) -> Vec<Consignment<'a>> {
    let mut found: BTreeMap<String, Consignment<'a>> = BTreeMap::new();
    let mut mixed: BTreeSet<String> = BTreeSet::new();
    for row in rows.iter().copied().filter(|row| is_reckoned(row)) {
        let Some(consignment) = open(book, row, jurisdiction) else {
            continue;
        };
        match found.get_mut(&consignment.id) {
            None => {
                found.insert(consignment.id.clone(), consignment);
            }
            Some(other) => match apart(other, &consignment, row) {
                None => other.rows.push(row),
                Some(problem) if mixed.insert(other.id.clone()) => problems.push(problem),
                Some(_) => {}
            },
        }
    }
    for consignment in found.values_mut() {
        consignment.rows.sort_by(|a, b| a.name.cmp(&b.name));
        let boxes: BTreeSet<&str> = consignment
            .rows
            .iter()
            .map(|row| row.name.as_str())
            .collect();
        let held = |part: &&'a Part| {
            part.comes_with
                .as_deref()
                .is_some_and(|name| boxes.contains(name))
        };
        consignment.bundled = boxed.iter().copied().filter(held).collect();
    }
    found.into_values().collect()
}

/// Why a row cannot travel with the rows of a parcel of the same name.
fn apart(parcel: &Consignment<'_>, own: &Consignment<'_>, row: &Part) -> Option<Diagnostic> {
    let Some(other) = parcel.rows.first().map(|row| row.at.line()) else {
        return Some(Diagnostic::defect("a parcel has no row"));
    };
    if parcel.seller.map(|s| &s.name) != own.seller.map(|s| &s.name) {
        let what = format!(
            "two parcels of different sellers would be called {}; the other is at {other}",
            words::quoted(&parcel.id)
        );
        return Some(
            row.at
                .cell("seller")
                .error(what)
                .help("give one of the two sellers another name"),
        );
    }
    if parcel.kind != own.kind {
        let what = format!(
            "this row is `{}`; the same parcel holds a row that is not, at {other}",
            row.standing.name()
        );
        let help = "give what was ordered at another time a label of its own in `parcel`";
        return Some(row.at.cell("parcel").error(what).help(help));
    }
    None
}

/// Whether a row's cost is calculated: it has a price, and is not simply known.
pub(crate) fn is_reckoned(row: &Part) -> bool {
    let priced = row.price.is_some();
    match row.standing {
        Standing::ToOrder | Standing::OnOrder => priced,
        Standing::InHand => priced && row.paid.is_none() && row.seller.is_some(),
        Standing::Given => priced && row.seller.is_some(),
        Standing::Bundled => false,
    }
}

/// The name of the parcel that a row travels in; what is bought at home over the counter is one of each money.
pub(crate) fn id_of(row: &Part, jurisdiction: &Jurisdiction<'_>) -> String {
    row.consignment().unwrap_or_else(|| {
        let foreign = row.currency.filter(|own| *own != jurisdiction.currency());
        let home = foreign.map_or_else(
            || "at home".to_owned(),
            |foreign| format!("at home in {foreign}"),
        );
        consignment_of(&home, &row.parcel)
    })
}

/// How far the parcel of a row has come.
fn state_of(standing: Standing) -> ConsignmentState {
    match standing {
        Standing::OnOrder => ConsignmentState::OnOrder,
        Standing::InHand => ConsignmentState::InHand,
        Standing::Given => ConsignmentState::Gift,
        Standing::ToOrder | Standing::Bundled => ConsignmentState::ToOrder,
    }
}

fn open<'a>(
    book: &'a Book,
    row: &'a Part,
    jurisdiction: &Jurisdiction<'_>,
) -> Option<Consignment<'a>> {
    let seller = row.seller.as_ref().and_then(|name| book.sellers.get(name));
    let parcel = book.parcel_of(row);
    let dispatch = match seller {
        Some(seller) => seller.dispatch?,
        None => jurisdiction.ask.to,
    };
    let ordered = parcel
        .and_then(|p| p.ordered)
        .unwrap_or(jurisdiction.ask.date);
    // That days on the way, the channel or the sender are not told is said among the cautions.
    let transit = seller.and_then(|s| s.transit_days).unwrap_or(0);
    let arrival = parcel
        .and_then(|p| p.arrived)
        .or(jurisdiction.ask.arrival)
        .unwrap_or_else(|| ordered.plus_days(transit));
    let freight = match (parcel.map(|p| &p.freight), seller) {
        (Some(own), _) if *own != Freight::Unknown => own.clone(),
        (_, Some(seller)) => seller.freight.clone(),
        (_, None) => Freight::Amount(Dec::ZERO),
    };
    Some(Consignment {
        id: id_of(row, jurisdiction),
        seller,
        kind: state_of(row.standing),
        dispatch,
        channel: parcel
            .and_then(|p| p.channel)
            .or(seller.and_then(|s| s.channel))
            .unwrap_or(Channel::Courier),
        sender: seller.and_then(|s| s.sender).unwrap_or(Sender::Business),
        ordered,
        arrival: arrival.max(ordered),
        freight,
        insurance: parcel
            .and_then(|p| p.insurance)
            .or(seller.and_then(|s| s.insurance)),
        handling: parcel
            .and_then(|p| p.handling)
            .or(seller.and_then(|s| s.handling)),
        rows: vec![row],
        bundled: Vec::new(),
    })
}

/// Every row's place must be a place of this kind of bike.
pub(crate) fn check_places(book: &Book, jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    for part in &book.parts {
        for place in part
            .places
            .iter()
            .filter(|place| jurisdiction.place(place).is_none())
        {
            let whole = part.at.cell("place").text() == place;
            let which = if whole {
                String::new()
            } else {
                format!(", which {} is not", words::quoted(place))
            };
            let what = format!(
                "expected a place on a {} bike{which}",
                jurisdiction.ask.kind
            );
            let unknown: Diagnostic = part.at.cell("place").error(what);
            problems.push(match words::nearest(place, jurisdiction.place_names()) {
                Some(near) => unknown.help(format!("did you mean `{near}`?")),
                None if place.contains('+') => {
                    unknown.help("several places are joined by ` + `, with blanks around it")
                }
                None => unknown.help(format!(
                    "`landwaiter new DIR --kind {}` writes a table of them",
                    jurisdiction.ask.kind
                )),
            });
        }
    }
}

/// What a row says that only the destination can judge: money that is the destination's, and where it is bought.
pub(super) fn check_rows(book: &Book, jurisdiction: &Jurisdiction<'_>, problems: &mut Problems) {
    let foreign =
        |signs: &[Currency]| !signs.is_empty() && !signs.contains(&jurisdiction.currency());
    let expected = own_money(jurisdiction);
    for row in book
        .settings
        .signed
        .iter()
        .filter(|row| foreign(&row.signs))
    {
        let what = format!("`{}` is {}: {expected}", row.name, words::quoted(&row.text));
        problems.push(Diagnostic::error(what).at(row.at.clone()));
    }
    check_fees(
        book.sellers
            .values()
            .filter_map(|seller| seller.handling_at.as_ref()),
        jurisdiction,
        problems,
    );
    check_fees(
        book.parcels.iter().map(|parcel| &parcel.at),
        jurisdiction,
        problems,
    );
    for part in &book.parts {
        for column in ["paid", "resale"] {
            let cell = part.at.cell(column);
            // What is no amount is an error already, where the book is read.
            let signs = number::money(cell.text(), cell.style())
                .map(|(_, signs)| signs)
                .unwrap_or_default();
            if foreign(&signs) {
                problems.push(cell.error(&expected));
            }
        }
        let dispatch = part.at.cell("dispatch");
        let abroad =
            Country::parse(dispatch.text()).filter(|country| !jurisdiction.is_home(country.code()));
        if let Some(country) = abroad.filter(|_| part.seller.is_none() && part.price.is_some()) {
            let what = format!(
                "expected the seller in {}: a row without one is bought at home",
                country.in_words()
            );
            problems.push(part.at.cell("seller").error(what));
        }
    }
}

fn own_money(jurisdiction: &Jurisdiction<'_>) -> String {
    format!(
        "expected an amount in {}, the destination's currency",
        jurisdiction.currency()
    )
}

/// The carrier's own fees that rows give are in the destination's money.
pub(crate) fn check_fees<'a>(
    rows: impl Iterator<Item = &'a Spot>,
    jurisdiction: &Jurisdiction<'_>,
    problems: &mut Problems,
) {
    for cell in rows.map(|row| row.cell("handling")) {
        let signs = HandlingFee::signs(cell.text(), cell.style());
        if !signs.is_empty() && !signs.contains(&jurisdiction.currency()) {
            problems.push(cell.error(own_money(jurisdiction)));
        }
    }
}
