//! Choices that the question makes and no rule of the destination asks for.

use std::collections::BTreeSet;

use super::caution::{Caution, Saying};
use super::jurisdiction::Jurisdiction;
use crate::text::{Diagnostic, Location, Severity, words};

/// A choice, or a value of one, that changes nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct UnknownChoice {
    /// Lasting name for programs.
    pub(crate) id: &'static str,
    /// The choice.
    pub(crate) choice: String,
    /// The message about it.
    pub(crate) text: String,
    /// The known word that may have been meant.
    pub(crate) near: Option<String>,
    /// Where the word stands that nothing asks for; none where a flag says it.
    pub(crate) at: Option<Location>,
    /// The flag that would say it.
    pub(crate) flag: String,
}

impl UnknownChoice {
    /// As a caution.
    pub(crate) fn caution(self) -> Caution {
        let near = self
            .near
            .map(|near| format!("; did you mean `{near}`?"))
            .unwrap_or_default();
        let place = self
            .at
            .map_or_else(|| format!("`{}`", self.flag), |at| at.to_string());
        Saying::new(format!("{} ({place}){near}", self.text)).caution(self.id)
    }

    /// As an error or a warning, at its place, or with the flag.
    pub(crate) fn problem(&self, severity: Severity) -> Diagnostic {
        let text = self.text.as_str();
        let problem = if severity == Severity::Error {
            Diagnostic::error(text)
        } else {
            Diagnostic::warning(text)
        };
        let problem = match &self.at {
            Some(at) => problem.at(at.clone()),
            None => problem.note(format!("it was typed as `{}`", self.flag)),
        };
        match &self.near {
            Some(near) => problem.help(format!("did you mean `{near}`?")),
            None => problem,
        }
    }
}

impl Jurisdiction<'_> {
    /// Every choice of the question that no rule asks for, and every value that none asks about.
    pub(crate) fn unknown_choices(&self) -> Vec<UnknownChoice> {
        if self.ask.choices.is_empty() {
            return Vec::new();
        }
        let known = self.law.choices();
        let unknown = |(choice, value): (&String, &String)| {
            if known.contains(choice.as_str()) {
                self.unknown_value(choice, value)
            } else {
                Some(self.unused_choice(choice, value, &known))
            }
        };
        self.ask.choices.iter().filter_map(unknown).collect()
    }

    /// A choice that no rule asks for.
    fn unused_choice(&self, choice: &str, value: &str, known: &BTreeSet<&str>) -> UnknownChoice {
        let text = format!(
            "no rule of {} asks for the choice {}: it changes nothing",
            self.ask.to.in_words(),
            words::quoted(choice)
        );
        let near = words::nearest(choice, known.iter().copied()).map(str::to_owned);
        self.unknown("choice-unused", (choice, value), text, (near, 0))
    }

    /// A value of a choice that no rule asks about; none where one does.
    fn unknown_value(&self, choice: &str, value: &str) -> Option<UnknownChoice> {
        let asked = self.law.choice_words(choice);
        if asked.iter().any(|word| word.eq_ignore_ascii_case(value)) {
            return None;
        }
        let quoted: Vec<String> = asked.iter().map(|word| format!("`{word}`")).collect();
        let text = format!(
            "no rule of {} asks whether the choice `{choice}` is {}: the rules ask for {}",
            self.ask.to.in_words(),
            words::quoted(value),
            words::list(&quoted, "and")
        );
        let near = words::nearest(value, asked.iter().copied()).map(str::to_owned);
        Some(self.unknown("choice-value-unused", (choice, value), text, (near, 1)))
    }

    /// The message about a choice, with the word that may have been meant, at its name or at its value.
    fn unknown(
        &self,
        id: &'static str,
        (choice, value): (&str, &str),
        text: String,
        (near, place): (Option<String>, usize),
    ) -> UnknownChoice {
        let places = self.ask.choices_at.get(choice);
        UnknownChoice {
            id,
            choice: choice.to_owned(),
            text,
            near,
            at: places.map(|places| places[place].clone()),
            flag: format!("--choice {choice}={value}"),
        }
    }
}
