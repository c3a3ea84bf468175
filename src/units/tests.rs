//! Numbers as typed and as printed, and shares that add up.

use proptest::prelude::*;
use proptest::sample::select;

use crate::made::cases;
use crate::units::number::{Style, money, plain, typed};
use crate::units::{Currency, Date, Dec, Mode, Rounding, share, share_exact};

/// Any number the tables may hold.
fn number() -> impl Strategy<Value = Dec> {
    (-999_999_999_999_i64..=999_999_999_999, 0..=10_u32)
        .prop_map(|(units, scale)| Dec::new(units, scale))
}

fn pence() -> impl Strategy<Value = Dec> {
    (0..=10_000_000_000_i64).prop_map(|units| Dec::new(units, 2))
}

fn weights() -> impl Strategy<Value = Vec<Dec>> {
    let weight = prop_oneof![1 => Just(0_i64), 6 => 0..=50_000_i64, 1 => 0..=90_000_000_i64];
    proptest::collection::vec(weight.prop_map(|units| Dec::new(units, 2)), 1..12)
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn what_is_printed_reads_back(number in number(), pence in pence()) {
        prop_assert_eq!(plain(&number.to_string()), Ok(number));
        prop_assert_eq!(typed(&number.to_string(), Style::Point), Ok(number));
        prop_assert_eq!(plain(&pence.fixed(2)), Ok(pence));
        prop_assert_eq!(typed(&pence.grouped(2), Style::Point), Ok(pence));
        prop_assert_eq!(typed(&pence.fixed(2).replace('.', ","), Style::CommaToo), Ok(pence));
        let continental = pence.grouped(2).replace(',', " ").replace('.', ",");
        prop_assert_eq!(typed(&continental, Style::CommaToo), Ok(pence));
        let (value, signs) = money(&format!("£{}", pence.grouped(2)), Style::Point).unwrap();
        prop_assert_eq!((value, signs), (pence, vec![Currency::GBP]));
    }

    /// Whatever is typed is read in one way or refused, never in a third; what is read prints and reads back.
    #[test]
    fn anything_typed_is_read_or_refused(text in "[-+0-9., '€$a-zA-Z\u{a0}\u{202f}]{0,24}", comma in any::<bool>()) {
        let style = if comma { Style::CommaToo } else { Style::Point };
        for value in [typed(&text, style).ok(), plain(&text).ok(), money(&text, style).ok().map(|(value, _)| value)].into_iter().flatten() {
            prop_assert_eq!(plain(&value.to_string()), Ok(value));
            let digits = |text: &str| text.chars().filter(char::is_ascii_digit).collect::<String>();
            let (read, own) = (digits(&value.fixed(10)), digits(&text));
            prop_assert!(read.contains(own.trim_start_matches('0')) || value.is_zero(), "`{}` was read as {}", text, value);
        }
    }

    #[test]
    fn rounding_stays_within_a_step_and_twice_is_once(number in number(), mode in select(vec![
        "half_up", "half_even", "half_down", "down", "up", "ceiling", "floor",
    ]), step in select(vec!["0.01", "0.05", "1", "10", "100", "1000"])) {
        let rule = Rounding::parse(&format!("{mode} {step}")).unwrap();
        let once = rule.apply(number).unwrap();
        prop_assert_eq!(rule.apply(once).unwrap(), once);
        let moved = once.minus(number).unwrap();
        prop_assert!(moved.abs() < rule.step);
        if mode.starts_with("half") {
            prop_assert!(moved.abs().times(Dec::from(2_u32)).unwrap() <= rule.step);
        }
        let right_way = match mode {
            "down" => once.abs() <= number.abs(),
            "up" => once.abs() >= number.abs(),
            "ceiling" => once >= number,
            "floor" => once <= number,
            _ => true,
        };
        prop_assert!(right_way, "{} went the wrong way to {}", number, once);
        prop_assert!(once.over(rule.step).unwrap().decimals() == 0);
    }

    #[test]
    fn shares_add_up_and_follow_their_weights(total in pence(), weights in weights(), decimals in 2..=3_u32) {
        let parts = share(total, &weights, decimals).unwrap();
        prop_assert_eq!(parts.len(), weights.len());
        prop_assert_eq!(Dec::total(parts.iter().copied()).unwrap(), total);
        let sum = Dec::total(weights.iter().copied()).unwrap();
        for (part, weight) in parts.iter().zip(&weights) {
            prop_assert!(!part.is_negative());
            if !sum.is_zero() {
                let exact = total.times(*weight).unwrap().over(sum).unwrap();
                prop_assert!(part.minus(exact).unwrap().abs() < Dec::new(1, decimals));
                prop_assert!(!weight.is_zero() || part.is_zero(), "a weight of zero bears {}", part);
            }
            for (other, own) in parts.iter().zip(&weights) {
                prop_assert!(own < weight || other >= part || own == weight, "a greater weight bears less");
            }
        }
    }

    /// A greater total lowers no share by more than the one step that the largest remainders may move.
    #[test]
    fn a_greater_total_lowers_no_share(total in pence(), more in 0..=100_000_i64, weights in weights()) {
        let before = share(total, &weights, 2).unwrap();
        let after = share(total.plus(Dec::new(more, 2)).unwrap(), &weights, 2).unwrap();
        for (before, after) in before.iter().zip(&after) {
            prop_assert!(after.plus(Dec::new(1, 2)).unwrap() >= *before);
        }
    }

    #[test]
    fn exact_parts_of_either_sign_add_up(parts in proptest::collection::vec((-90_000_000_i64..=90_000_000, 2..=9_u32), 1..12)) {
        let exact: Vec<Dec> = parts.iter().map(|(units, scale)| Dec::new(*units, *scale)).collect();
        let total = Dec::total(exact.iter().copied()).unwrap().round_to(2, Mode::HalfUp);
        let shared = share_exact(total, &exact, 2).unwrap();
        prop_assert_eq!(Dec::total(shared.iter().copied()).unwrap(), total);
        for (own, exact) in shared.iter().zip(&exact) {
            prop_assert!(own.minus(*exact).unwrap().abs() <= Dec::new(1, 2));
            prop_assert!(own.decimals() <= 2);
            prop_assert!(!exact.is_zero() || own.is_zero());
        }
    }

    #[test]
    fn days_print_and_read_back(after in 0..=100_000_u32, text in "\\PC{0,14}") {
        let day = Date::FIRST.plus_days(after);
        if day.year() <= 2200 {
            prop_assert_eq!(Date::parse(&day.to_string()), Ok(day));
            prop_assert_eq!(Date::parse(&format!("{}.{}.{}", day.day(), day.month(), day.year())), Ok(day));
        }
        if let Ok(day) = Date::parse(&text) {
            prop_assert_eq!(Date::parse(&day.to_string()), Ok(day));
        }
    }
}
