//! The rules: facts and rows in, charges with their reasons out. No files, no book, no printing.
//!
//! [`Program::prepare`] takes the rows of a destination that are in force on a day; [`assess()`] applies them to a
//! consignment. A new country is new rows: nothing here knows one from another.

mod assess;
mod assessment;
mod claim;
mod classify;
mod condition;
mod ended;
mod form;
mod ledger;
mod open;
mod outline;
mod parcel;
mod program;
mod rate;
mod reckon;
mod step;
mod swift;


pub use assessment::{Assessment, Ended, Entry, Limit, WhyNot};
pub use claim::grant;
pub use classify::{Classified, Codes};
pub use open::{OpenDigits, settle_digits};
pub use outline::{Asks, Bears, ChargeOutline, Holds, Outline, ReliefOutline, Term, outline};
pub use parcel::{Handling, Line, Parcel};
pub use program::{Counting, Occasion, Program, currencies};
pub use rate::RateUsed;
pub use reckon::Part;
pub use swift::{Amounts as LineAmounts, Charges as LineCharges, Classes, Scale, Scratch, Swift, WholeRate, times_over};

/// TEMPORARY: both, compared.
pub fn assess(program: &Program, parcel: &Parcel) -> Result<Assessment, crate::units::Overflow> {
    let old = assess::assess(program, parcel);
    let new = form::assess(program, parcel);
    let text = |a: &Result<Assessment, crate::units::Overflow>| match a {
        Ok(a) => {
            let mut out = String::new();
            for e in &a.entries {
                out.push_str(&format!("{e:#?}\n"));
            }
            out + &format!("{:#?} {:#?} {:#?} {:#?} {:#?} {:#?}", a.limits, a.collect, a.gaps, a.ended, a.clashes, a.negative)
        }
        Err(e) => format!("{e:?}"),
    };
    let (one, other) = (text(&old), text(&new));
    if one != other {
        use std::io::Write;
        let n = std::process::id();
        if let Ok(mut f) = std::fs::OpenOptions::new().append(true).create(true).open(format!("/tmp/hq/diffs/{n}")) {
            let _ = writeln!(f, "=====OLD\n{one}\n=====NEW\n{other}");
        }
    }
    new
}
