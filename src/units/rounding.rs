//! Rounding as a rule of law: a named mode and a step, as a table row writes it (`half_up 0.01`, `down 1000`).

use std::fmt;

use super::{Dec, Mode, Overflow, number};

const MODES: [(&str, Mode); 7] = [
    ("half_up", Mode::HalfUp),
    ("half_even", Mode::HalfEven),
    ("half_down", Mode::HalfDown),
    ("down", Mode::Down),
    ("up", Mode::Up),
    ("ceiling", Mode::Ceiling),
    ("floor", Mode::Floor),
];

/// A mode and a step.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Rounding {
    /// The way a figure between two steps goes.
    pub(crate) mode: Mode,
    /// The step, in units of the currency.
    pub(crate) step: Dec,
}

/// A quotient such as a third has no end, and three of them must make one again: before a figure is rounded, compared or shared
/// it is brought to this many decimals, far below any step of the law and far above the 28th digit where quotients end.
pub(crate) const SETTLED: u32 = 14;

impl Dec {
    /// The figure as everything that is decided looks at it: without what the end of its digits left or took.
    #[must_use]
    pub(crate) fn settled(self) -> Dec {
        self.round_to(SETTLED, Mode::HalfEven)
    }
}

impl Rounding {
    /// Half up to a minor unit of this many decimals.
    pub(crate) fn minor(decimals: u32) -> Rounding {
        Rounding {
            mode: Mode::HalfUp,
            step: Dec::new(1, decimals),
        }
    }

    /// Reads `half_up 0.01`; the error says what was expected.
    pub(crate) fn parse(text: &str) -> Result<Rounding, String> {
        let expected =
            || "expected a way and a step, such as `half_up 0.01` or `down 1000`".to_owned();
        let (mode, step) = text.split_once(' ').ok_or_else(expected)?;
        let mode = MODES
            .iter()
            .find(|(name, _)| *name == mode)
            .ok_or_else(expected)?
            .1;
        let step = number::plain(step.trim())
            .ok()
            .filter(|s| s.is_positive())
            .ok_or_else(expected)?;
        Ok(Rounding { mode, step })
    }

    /// Rounds a figure to a multiple of the step.
    pub(crate) fn apply(self, figure: Dec) -> Result<Dec, Overflow> {
        let settled = figure.settled();
        if self.step == Dec::new(1, 2) {
            return Ok(settled.round_to(2, self.mode));
        }
        let steps = settled.over(self.step)?.settled();
        steps.round_to(0, self.mode).times(self.step)
    }
}

impl fmt::Display for Rounding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let name = MODES
            .iter()
            .find(|(_, mode)| *mode == self.mode)
            .map_or("", |(name, _)| name);
        write!(f, "{name} {}", self.step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thirds_add_up_before_they_are_cut() {
        let third = Dec::from(100_u32).over(Dec::from(3_u32)).unwrap();
        let whole = Dec::total([third; 3]).unwrap();
        let cut = Rounding::parse("down 0.01").unwrap().apply(whole).unwrap();
        assert_eq!(cut.fixed(2), "100.00");
    }

    #[test]
    fn steps_of_the_law() {
        for (rule, figure, rounded) in [
            ("half_up 0.05", "5.022", "5"),
            ("half_up 0.05", "5.025", "5.05"),
            ("down 1000", "56999", "56000"),
            ("down 100", "4368", "4300"),
            ("half_up 1", "5337.5", "5338"),
            ("down 0.01", "264.679", "264.67"),
        ] {
            let got = Rounding::parse(rule)
                .unwrap()
                .apply(number::plain(figure).unwrap())
                .unwrap();
            assert_eq!(got.to_string(), rounded, "{rule} of {figure}");
        }
    }

    #[test]
    fn nonsense_is_refused() {
        for text in ["", "half_up", "half_up 0", "sideways 1", "down -1"] {
            assert!(Rounding::parse(text).is_err(), "{text}");
        }
    }
}
