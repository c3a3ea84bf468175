//! A row of `parts.csv` as it is understood: a part, where it goes, who sells it, what it weighs.

use std::collections::BTreeMap;

use crate::text::Spot;
use crate::units::{Country, Currency, Date, Dec, Grams, number};

/// Whether it is on the bike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// It is, or will be.
    Build,
    /// It might replace what is at its place.
    Option,
    /// Another offer of a part.
    Rival,
    /// It was paid for, and is lost, went back, or did not come whole: its money counts, and it is not there. Its receipts say this, or
    /// its standing.
    Gone,
}

/// What has been paid and what is to come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Nothing yet.
    ToOrder,
    /// The seller is paid; charges at the door are to come.
    OnOrder,
    /// Nothing more to pay.
    InHand,
    /// Nobody pays its price.
    Given,
    /// It comes in another part's box.
    Bundled,
}

/// What was wrong with a part when its parcel came. It is paid for, and not on the bike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fault {
    /// It was not in the parcel.
    Missing,
    /// It came in pieces, or as good as.
    Damaged,
}

/// How a mass is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum MassKind {
    Weighed,
    Claimed,
    Guess,
}

/// What a part says at a joint.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum FitValue {
    /// One of these.
    Any(Vec<String>),
    /// At most this.
    AtMost(Dec),
    /// At least this.
    AtLeast(Dec),
}

impl FitValue {
    /// Reads `140|160`, `<=32` or `>=28`.
    pub(crate) fn parse(text: &str) -> Result<FitValue, String> {
        let limit = |rest: &str| {
            number::plain(rest.trim())
                .map_err(|_| format!("expected a number after the sign in `{text}`"))
        };
        if let Some(rest) = text.strip_prefix("<=") {
            return limit(rest).map(FitValue::AtMost);
        }
        if let Some(rest) = text.strip_prefix(">=") {
            return limit(rest).map(FitValue::AtLeast);
        }
        let any: Vec<String> = text
            .split('|')
            .map(|v| v.trim().to_owned())
            .filter(|v| !v.is_empty())
            .collect();
        if any.is_empty() {
            Err("expected a value such as `12x142` or `140|160`".to_owned())
        } else {
            Ok(FitValue::Any(any))
        }
    }
}

/// One row of `parts.csv`.
#[derive(Debug, Clone)]
pub struct Part {
    /// Its name.
    pub(crate) name: String,
    /// The places it fills.
    pub places: Vec<String>,
    /// Whether it is on the bike.
    pub role: Role,
    /// What has been paid.
    pub standing: Standing,
    /// What was wrong with it when its parcel came.
    pub(crate) fault: Option<Fault>,
    /// Who sells it; none when it is bought at home or already here.
    pub seller: Option<String>,
    /// The price of one, in the seller's money.
    pub(crate) price: Option<Dec>,
    /// That money.
    pub(crate) currency: Option<Currency>,
    /// How many.
    pub(crate) quantity: u32,
    /// The label of the parcel it travels in.
    pub parcel: String,
    /// What has been paid for the row, in the destination's money.
    pub(crate) paid: Option<Dec>,
    /// The mass of one.
    pub mass: Option<Grams>,
    /// How that is known.
    pub(crate) mass_kind: MassKind,
    /// The packed mass of one.
    pub(crate) packed: Option<Grams>,
    /// The box of one, in centimetres.
    pub(crate) box_cm: Option<[Dec; 3]>,
    /// Digits as far as known.
    pub(crate) commodity: String,
    /// What a declaration calls it; empty for its place's own text.
    pub(crate) declared_as: String,
    /// Facts a rule may ask for.
    pub(crate) traits: BTreeMap<String, String>,
    /// The country of making.
    pub(crate) origin: Option<Country>,
    /// Whether a preference is claimed.
    pub(crate) preference: bool,
    /// The part whose box it is in.
    pub(crate) comes_with: Option<String>,
    /// Parts that must be bought with it.
    pub(crate) needs: Vec<String>,
    /// What it says at joints.
    pub(crate) fits: BTreeMap<String, FitValue>,
    /// What it would fetch, when replaced, in the destination's money.
    pub(crate) resale: Option<Dec>,
    /// The maker's mass limit in kilograms.
    pub limit_kg: Option<Dec>,
    /// A test report.
    pub(crate) evidence: String,
    /// Months of warranty.
    pub(crate) warranty_months: Option<u32>,
    /// When the price was seen.
    pub(crate) seen: Option<Date>,
    /// Where it stands.
    pub(crate) at: Spot,
}

/// The name of a seller's parcel: the seller, and the label where there is one.
pub(crate) fn consignment_of(seller: &str, parcel: &str) -> String {
    if parcel.is_empty() {
        seller.to_owned()
    } else {
        format!("{seller}/{parcel}")
    }
}

/// Whether a parcel is meant by what was typed: `SELLER/LABEL`, `SELLER/` where it has no label, its label alone, or its seller.
pub(crate) fn is_parcel(typed: &str, seller: &str, label: &str) -> bool {
    let rest = typed
        .strip_prefix(seller)
        .and_then(|rest| rest.strip_prefix('/'));
    typed == seller || rest == Some(label) || (!label.is_empty() && typed == label)
}

/// A parcel by its seller and its label, as it can always be typed.
pub(crate) fn whole_name(seller: &str, label: &str) -> String {
    format!("{seller}/{label}")
}

impl Part {
    /// Whether its parcel is meant by what was typed.
    pub(crate) fn is_meant(&self, typed: &str) -> bool {
        let seller = self.seller.as_deref();
        seller.is_some_and(|seller| is_parcel(typed, seller, &self.parcel))
    }

    /// The name of the parcel that it travels in; none where it has no seller, and so is at home.
    pub(crate) fn consignment(&self) -> Option<String> {
        self.seller
            .as_deref()
            .map(|seller| consignment_of(seller, &self.parcel))
    }

    /// Whether it travels in the parcel of this name; what is at home may name its money behind.
    pub(crate) fn is_in(&self, consignment: &str) -> bool {
        self.consignment().map_or_else(
            || consignment.starts_with("at home"),
            |own| own == consignment,
        )
    }

    /// One piece to order, of which nothing but the name is known.
    pub(crate) fn bare(name: String, at: Spot) -> Part {
        Part {
            name,
            places: Vec::new(),
            role: Role::Build,
            standing: Standing::ToOrder,
            fault: None,
            seller: None,
            price: None,
            currency: None,
            quantity: 1,
            parcel: String::new(),
            paid: None,
            mass: None,
            mass_kind: MassKind::Claimed,
            packed: None,
            box_cm: None,
            commodity: String::new(),
            declared_as: String::new(),
            traits: BTreeMap::new(),
            origin: None,
            preference: false,
            comes_with: None,
            needs: Vec::new(),
            fits: BTreeMap::new(),
            resale: None,
            limit_kg: None,
            evidence: String::new(),
            warranty_months: None,
            seen: None,
            at,
        }
    }

    /// A row without price and mass is open: not wrong, and not counted.
    pub(crate) fn is_open(&self) -> bool {
        self.price.is_none()
            && self.mass.is_none()
            && matches!(self.standing, Standing::ToOrder | Standing::OnOrder)
    }

    /// An option that is here or on its way: it is no part of the bike, and its money is spent or asked for at the door.
    pub(crate) fn is_owned_option(&self) -> bool {
        self.role == Role::Option
            && matches!(
                self.standing,
                Standing::OnOrder | Standing::InHand | Standing::Given
            )
    }

    /// Whether money for it is spent, or nobody pays.
    pub(crate) fn is_paid(&self) -> bool {
        matches!(
            self.standing,
            Standing::OnOrder | Standing::InHand | Standing::Given
        )
    }

    /// Whether it lies in the box of another part: it travels with that, whatever becomes of it. An option does so too: whoever
    /// orders the part gets it, whether it comes on the bike or not.
    pub(crate) fn is_boxed(&self) -> bool {
        self.role != Role::Rival && self.comes_with.is_some()
    }

    /// Whether it was paid for, and is lost, went back or did not come whole.
    pub(crate) fn is_gone(&self) -> bool {
        self.role == Role::Gone
    }

    /// The mass of the whole row.
    pub fn total_mass(&self) -> Option<Grams> {
        self.mass.and_then(|mass| mass.times(self.quantity).ok())
    }
}
