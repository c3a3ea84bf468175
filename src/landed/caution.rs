//! What the tool says aloud: cautions with a lasting id, one plain sentence, and what each is about.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::units::HomeMoney;

/// One caution.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caution {
    /// Lasting name for programs: `origin-assumed`.
    pub id: &'static str,
    /// What it is, in one plain sentence.
    pub text: String,
    /// What to do about it, in a sentence of its own; empty for what always stands.
    pub action: String,
    /// Parts, sellers or consignments it is about.
    pub about: Vec<String>,
    /// Those of them that are the consignments of its parts, which a sentence names apart from the parts.
    pub(crate) parcels: Vec<String>,
    /// What it changes in the total if it happens.
    pub stake: Stake,
}

impl fmt::Display for Caution {
    /// What it changes in the destination's money, what it is, and what to do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.stake {
            Stake::Nothing => {}
            Stake::Unknown => f.write_str("unknown: ")?,
            Stake::Money(amount) => write!(f, "{}: ", amount.amount())?,
        }
        write!(f, "{}. {}", self.text, self.action)
    }
}

/// What a caution changes in the total.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Stake {
    /// No money hangs on it.
    #[default]
    Nothing,
    /// Money hangs on it, nobody knows how much.
    Unknown,
    /// So much, more or less, of the destination's money.
    Money(HomeMoney),
}

impl Stake {
    /// Both together; what is too large to be added up is unknown.
    fn and(self, other: Stake) -> Stake {
        match (self, other) {
            (Stake::Money(one), Stake::Money(other)) => {
                one.plus(other).map_or(Stake::Unknown, Stake::Money)
            }
            (Stake::Nothing, other) => other,
            (one, Stake::Nothing) => one,
            (Stake::Unknown, _) | (_, Stake::Unknown) => Stake::Unknown,
        }
    }
}

/// What a caution says, before it is known what it is about.
#[derive(Debug, Clone)]
pub(crate) struct Saying {
    text: String,
    action: String,
    stake: Stake,
    parcels: Vec<String>,
}

impl Saying {
    /// A sentence about what is so.
    pub(crate) fn new(text: impl Into<String>) -> Saying {
        Saying {
            text: text.into(),
            action: String::new(),
            stake: Stake::Nothing,
            parcels: Vec::new(),
        }
    }

    /// About parts of this consignment, which is named among what it is about.
    pub(crate) fn of_parcel(self, id: &str) -> Saying {
        Saying {
            parcels: vec![id.to_owned()],
            ..self
        }
    }

    /// With a sentence about what to do.
    pub(crate) fn so(self, action: impl Into<String>) -> Saying {
        Saying {
            action: action.into(),
            ..self
        }
    }

    /// With the amount that the total would change by, up or down.
    pub(crate) fn costs(self, amount: HomeMoney) -> Saying {
        let stake = if amount.is_zero() {
            Stake::Nothing
        } else {
            Stake::Money(amount.abs())
        };
        Saying { stake, ..self }
    }

    /// As a caution about nothing in particular.
    pub(crate) fn caution(self, id: &'static str) -> Caution {
        let Saying {
            text,
            action,
            stake,
            parcels,
        } = self;
        Caution {
            id,
            text,
            action,
            about: Vec::new(),
            parcels,
            stake,
        }
    }

    /// With an amount that nobody knows.
    pub(crate) fn costs_unknown(self) -> Saying {
        Saying {
            stake: Stake::Unknown,
            ..self
        }
    }
}

impl From<&str> for Saying {
    fn from(text: &str) -> Saying {
        Saying::new(text)
    }
}

impl From<String> for Saying {
    fn from(text: String) -> Saying {
        Saying::new(text)
    }
}

impl From<&Caution> for Saying {
    fn from(caution: &Caution) -> Saying {
        Saying {
            text: caution.text.clone(),
            action: caution.action.clone(),
            stake: caution.stake,
            parcels: caution.parcels.clone(),
        }
    }
}

/// Cautions that say what a landed sum lacks: whoever shows the sum says them too.
pub(crate) const LACKING: [&str; 4] = ["no-rate", "charge-ended", "fee-ended", "freight-unknown"];

/// What a landed sum lacks, of all that was said of it.
pub(crate) fn lacking(said: &[Caution]) -> impl Iterator<Item = &Caution> {
    said.iter().filter(|caution| LACKING.contains(&caution.id))
}

/// The cautions of one run; the same sentence is said once.
#[derive(Debug, Default)]
pub struct Cautions {
    list: Vec<Caution>,
    /// Where each sentence stands in the list, and what it is about: a book may name thousands of parts in one.
    said: BTreeMap<(&'static str, String), (usize, BTreeSet<String>)>,
}

impl Cautions {
    /// Says one; what it is about is added when the sentence has been said already, and what it costs too.
    pub(crate) fn say(&mut self, id: &'static str, saying: impl Into<Saying>, about: &[&str]) {
        let saying = saying.into();
        let key = (id, saying.text.clone());
        let Some((at, named)) = self.said.get_mut(&key) else {
            let about: Vec<String> = about.iter().map(|name| (*name).to_owned()).collect();
            let named = (self.list.len(), about.iter().cloned().collect());
            self.said.insert(key, named);
            self.list.push(Caution {
                about,
                ..saying.caution(id)
            });
            return;
        };
        let Some(caution) = self.list.get_mut(*at) else {
            return;
        };
        for parcel in saying.parcels {
            if !caution.parcels.contains(&parcel) {
                caution.parcels.push(parcel);
            }
        }
        let known = named.len();
        for name in about {
            if named.insert((*name).to_owned()) {
                caution.about.push((*name).to_owned());
            }
        }
        // what is said of the same things again costs nothing more
        if named.len() > known {
            caution.stake = caution.stake.and(saying.stake);
        }
    }

    /// Takes over others.
    pub(crate) fn extend(&mut self, others: Vec<Caution>) {
        for other in others {
            let about: Vec<&str> = other.about.iter().map(String::as_str).collect();
            self.say(other.id, &other, &about);
        }
    }

    /// The list, in the order said.
    pub(crate) fn into_list(self) -> Vec<Caution> {
        self.list
    }
}
