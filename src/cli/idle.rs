//! Flags that say nothing to a command: they are refused and named, rather than taken and left unused.

use std::ffi::OsString;

use super::args::{Cli, Command};
use super::common_args::CommonArgs;
use crate::answer::Format;
use crate::text::words::list;

/// What is typed and does nothing in the command that it is typed for.
pub(super) fn idle(cli: &Cli, args: &[OsString]) -> Option<String> {
    let beside = |asked: &CommonArgs, known: &[&str], command: &str, why: &str| {
        let idle: Vec<&str> = asked
            .typed()
            .into_iter()
            .filter(|flag| known.contains(flag))
            .collect();
        (!idle.is_empty()).then(|| format!("{} nothing in `{command}`, {why}", flags_do(&idle)))
    };
    let limits = ["--budget", "--max-mass"];
    let ranked = ["--worth", "--rider-kg", "--rider-watts"];
    match &cli.command {
        None => {
            let known = [&limits[1..], &ranked].concat();
            beside(&cli.asked, &known, "landwaiter", "which alone ranks nothing")
        }
        Some(Command::Check(asked)) => in_check(asked),
        Some(Command::Compare { asked, .. }) => beside(asked, &limits, "compare", "which knows no limit"),
        Some(Command::Settle { asked, .. }) => {
            beside(asked, &[&limits[..], &ranked].concat(), "settle", "where what was ordered is not chosen any more")
        }
        Some(Command::Return { asked, .. }) => {
            beside(asked, &[&limits[..], &ranked].concat(), "return", "where what was ordered is not chosen any more")
        }
        Some(Command::Rates { what: None, asked, .. }) => {
            let known = ["--in", "--budget", "--max-mass", "--worth", "--rider-kg", "--rider-watts", "--basis", "--card-fee", "--remedies"];
            beside(asked, &known, "rates", "which lists rules and calculates no amount")
        }
        Some(Command::Report { .. }) if names_a_format(args) => {
            Some("`--format` does nothing in `report`: it writes a page or a workbook by how the name after `-o` ends".to_owned())
        }
        Some(Command::Bulk { list, asked, .. }) => in_bulk(asked, args, list),
        _ => None,
    }
}

fn in_check(asked: &CommonArgs) -> Option<String> {
    let known = [
        "--in",
        "--budget",
        "--max-mass",
        "--worth",
        "--rider-kg",
        "--rider-watts",
    ];
    let idle: Vec<&str> = asked
        .typed()
        .into_iter()
        .filter(|flag| known.contains(flag))
        .collect();
    (!idle.is_empty()).then(|| {
        format!(
            "{} nothing in `check`, which shows no amount",
            flags_do(&idle)
        )
    })
}

fn names_a_format(args: &[OsString]) -> bool {
    args.iter()
        .filter_map(|arg| arg.to_str())
        .any(|arg| arg == "--format" || arg.starts_with("--format="))
}

/// What is typed for `bulk` and does nothing there.
fn in_bulk(asked: &CommonArgs, args: &[OsString], list: &str) -> Option<String> {
    if list == "-" && asked.of.book == "-" {
        return Some("standard input can be the list or the book, not both".to_owned());
    }
    let typed = asked.typed();
    if typed.contains(&"--in") {
        return Some(
            "`bulk` does not know `--in`: every amount is in the destination's money".to_owned(),
        );
    }
    if names_a_format(args) && asked.shape().format != Format::Csv {
        return Some("`bulk` writes CSV and nothing else: leave `--format` out".to_owned());
    }
    let known = [
        "--on",
        "--arrival",
        "--kind",
        "--basis",
        "--budget",
        "--max-mass",
        "--worth",
        "--rider-kg",
        "--rider-watts",
        "--fact",
    ];
    let idle: Vec<&str> = typed
        .into_iter()
        .filter(|flag| known.contains(flag))
        .collect();
    (!idle.is_empty()).then(|| {
        format!(
            "{} nothing in `bulk`, where each line has its own date and no place on a bike",
            flags_do(&idle)
        )
    })
}

fn flags_do(flags: &[&str]) -> String {
    let named: Vec<String> = flags.iter().map(|flag| format!("`{flag}`")).collect();
    let verb = if flags.len() == 1 { "does" } else { "do" };
    format!("{} {verb}", list(&named, "and"))
}
