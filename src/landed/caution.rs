//! What the tool says aloud: cautions with a lasting id, one plain sentence, and what each is about.

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
pub const LACKING: [&str; 4] = ["no-rate", "charge-ended", "fee-ended", "freight-unknown"];

/// What a landed sum lacks, of all that was said of it.
pub fn lacking(said: &[Caution]) -> impl Iterator<Item = &Caution> {
    said.iter().filter(|caution| LACKING.contains(&caution.id))
}

/// The cautions of one run; the same sentence is said once.
#[derive(Debug, Default)]
pub struct Cautions(Vec<Caution>);

impl Cautions {
    /// Says one; what it is about is added when the sentence has been said already.
    pub fn say(&mut self, id: &'static str, text: impl Into<String>, about: &[&str]) {
        let text = text.into();
        let about = about.iter().map(|a| (*a).to_owned());
        match self.0.iter_mut().find(|c| c.id == id && c.text == text) {
            None => self.0.push(Caution {
                id,
                text,
                about: about.collect(),
            }),
            Some(said) => {
                for name in about {
                    if !said.about.contains(&name) {
                        said.about.push(name);
                    }
                }
            }
        }
    }

    /// Takes over others.
    pub fn extend(&mut self, others: Vec<Caution>) {
        for other in others {
            let about: Vec<&str> = other.about.iter().map(String::as_str).collect();
            self.say(other.id, other.text, &about);
        }
    }

    /// The list, in the order said.
    pub fn into_list(self) -> Vec<Caution> {
        self.0
    }
}
