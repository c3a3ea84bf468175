//! The files of a user's folder of tables: under which name each is read, and which are not.

use super::destination::Destination;
use super::stamp::{Dated, File};
use crate::text::{Diagnostic, Location, Problems, words};
use crate::units::Country;

/// Brings the names of a user's files to the form in which tables are looked for: `UK/Charges.tsv` is `gb/charges.csv`. Two
/// files of one name are an error.
pub(super) fn settle_names(files: &mut [File], problems: &mut Problems) {
    for file in files.iter_mut().filter(|file| file.users) {
        file.name = settled(&file.name);
    }
    let users: Vec<&File> = files.iter().filter(|file| file.users).collect();
    for (at, file) in users.iter().enumerate() {
        let known = |name: &str| {
            known_in(name).contains(&name.rsplit_once('/').map_or(name, |(_, file)| file))
        };
        if let Some(other) = users[..at]
            .iter()
            .find(|other| other.name == file.name && known(&file.name))
        {
            let what = format!(
                "expected one table `{}`: {} is another",
                file.name,
                words::quoted(&other.path)
            );
            let help = "put the rows of both into one file";
            problems.push(
                Diagnostic::error(what)
                    .at(Location::line(file.path.as_str().into(), 1))
                    .help(help),
            );
        }
    }
}

/// A name in small letters, tab-separated tables as the others, and a country's folder by its code.
fn settled(name: &str) -> String {
    let (folder, file) = name
        .rsplit_once('/')
        .map_or((None, name), |(folder, file)| (Some(folder), file));
    let mut file = file.to_lowercase();
    if let Some(stem) = [".tsv", ".tab"]
        .into_iter()
        .find_map(|ending| file.strip_suffix(ending))
    {
        file = format!("{stem}.csv");
    }
    let Some(folder) = folder else { return file };
    let spoken = folder.replace(['_', '-'], " ");
    let code = Country::parse(folder)
        .or_else(|| Country::parse(&spoken))
        .map(|country| country.code().to_lowercase());
    format!("{}/{file}", code.unwrap_or_else(|| folder.to_lowercase()))
}

fn known_in(name: &str) -> &'static [&'static str] {
    if name.contains('/') { &LAW } else { &COMMON }
}

const COMMON: [&str; 10] = [
    "destinations.csv",
    "border_freight.csv",
    "territories.csv",
    "freight.csv",
    "places.csv",
    "basis.csv",
    "fits.csv",
    "spreads.csv",
    "refunds.csv",
    "exchange.csv",
];
const LAW: [&str; 8] = [
    "charges.csv",
    "reliefs.csv",
    "tariff.csv",
    "taxes.csv",
    "codes.csv",
    "assemblies.csv",
    "refunds.csv",
    "exchange.csv",
];

/// A file nobody reads is said, not passed over.
pub(super) fn unknown_files(
    files: &[File],
    destinations: &[Dated<Destination>],
    problems: &mut Problems,
) {
    for file in files.iter().filter(|f| f.users) {
        let (folder, name) = file
            .name
            .rsplit_once('/')
            .map_or((None, file.name.as_str()), |(folder, name)| {
                (Some(folder), name)
            });
        if let Some((what, help)) = folder.and_then(|folder| unread_folder(folder, destinations)) {
            problems.push(
                Diagnostic::warning(what)
                    .at(Location::line(file.path.as_str().into(), 1))
                    .help(help),
            );
            continue;
        }
        let known = known_in(&file.name);
        if !known.contains(&name) {
            let warning = Diagnostic::warning("not a table of rates: the file is not read")
                .at(Location::line(file.path.as_str().into(), 1));
            problems.push(match words::nearest(name, known.iter().copied()) {
                _ if folder.is_none() && LAW.contains(&name) => {
                    warning.help(format!("`{name}` is a table of one country: put it into that country's folder, as in `gb/{name}`"))
                }
                Some(near) => warning.help(format!("did you mean `{near}`?")),
                None if folder.is_some() && COMMON.contains(&name) => {
                    warning.help(format!("`{name}` holds for all countries: put it into the folder of tables itself"))
                }
                None => warning,
            });
        }
    }
}

/// Why a folder is of no law, and what to do.
fn unread_folder(
    folder: &str,
    destinations: &[Dated<Destination>],
) -> Option<(String, &'static str)> {
    let quoted = words::quoted(folder);
    if folder.contains('/') {
        let help = "tables lie in the folder of tables itself or in the folder of a country, such as `gb`, and in none below it";
        return Some((
            format!("the folder {quoted} lies inside the folder of a country and is not read"),
            help,
        ));
    }
    let served = |d: &Dated<Destination>| {
        d.rule.country.code().eq_ignore_ascii_case(folder)
            || d.rule.group.eq_ignore_ascii_case(folder)
    };
    if destinations.iter().any(served) {
        return None;
    }
    if folder.len() == 2 && Country::parse(folder).is_some() {
        let help = "add a row for the country to `destinations.csv`";
        return Some((
            format!(
                "the folder {quoted} is of a country that `destinations.csv` does not name, and is not read"
            ),
            help,
        ));
    }
    let help = "a folder of law has the country's two letters or its name: `gb`, `de`, `japan`";
    Some((
        format!("the folder {quoted} is of no country and is not read"),
        help,
    ))
}
