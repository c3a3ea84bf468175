//! What the tool says aloud: cautions with a lasting id, one plain sentence, and what each is about.

use std::collections::{BTreeMap, BTreeSet};

/// One caution.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Caution {
    /// Lasting name for programs: `origin-assumed`.
    pub id: &'static str,
    /// One plain sentence.
    pub text: String,
    /// Parts, sellers or consignments it is about.
    pub about: Vec<String>,
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
    /// Says one; what it is about is added when the sentence has been said already.
    pub(crate) fn say(&mut self, id: &'static str, text: impl Into<String>, about: &[&str]) {
        let key = (id, text.into());
        let Some((at, named)) = self.said.get_mut(&key) else {
            let about: Vec<String> = about.iter().map(|name| (*name).to_owned()).collect();
            let named = (self.list.len(), about.iter().cloned().collect());
            let text = key.1.clone();
            self.said.insert(key, named);
            self.list.push(Caution { id, text, about });
            return;
        };
        let Some(caution) = self.list.get_mut(*at) else {
            return;
        };
        for name in about {
            if named.insert((*name).to_owned()) {
                caution.about.push((*name).to_owned());
            }
        }
    }

    /// Takes over others.
    pub(crate) fn extend(&mut self, others: Vec<Caution>) {
        for other in others {
            let about: Vec<&str> = other.about.iter().map(String::as_str).collect();
            self.say(other.id, other.text, &about);
        }
    }

    /// The list, in the order said.
    pub(crate) fn into_list(self) -> Vec<Caution> {
        self.list
    }
}
