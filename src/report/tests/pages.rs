//! A page for each folder of law, `rates/*/README.md`, written from its rows.

use crate::abroad::{built_in, expect};
use crate::report::law_page::law_page;
use crate::tables::{File, Tables};
use crate::text::{Problems, draw};

#[test]
fn every_folder_has_the_page_its_rows_make() {
    let mut problems = Problems::new();
    let folders = built_in().folders();
    assert_eq!(
        folders,
        [
            "au", "br", "ca", "ch", "eu", "gb", "gg", "hk", "im", "in", "is", "je", "jp", "kr",
            "mx", "no", "nz", "sg", "us", "xi", "za"
        ]
    );
    for folder in folders {
        let page = law_page(built_in(), folder, &mut problems)
            .unwrap_or_else(|| panic!("no destination uses {folder}"));
        assert!(!problems.refuse(), "{}", draw(&problems, false));
        expect(&format!("rates/{folder}/README.md"), &page);
    }
}

/// The files that the page of a folder is written from.
fn files_of(folder: &str) -> Vec<File> {
    let group = |name: &str| {
        ["gb/", "ch/", "eu/"]
            .iter()
            .any(|other| name.starts_with(other))
    };
    let wanted = |name: &str| {
        [
            "destinations.csv",
            "border_freight.csv",
            "freight.csv",
            "places.csv",
        ]
        .contains(&name)
            || name.starts_with(&format!("{folder}/"))
            || group(name)
    };
    crate::tables::built_in()
        .into_iter()
        .filter(|file| wanted(&file.name))
        .collect()
}

/// The page of a folder without one line of a file, which becomes a note so that no other row changes its number.
fn page_without(folder: &str, files: &[File], gone: Option<(&str, usize)>) -> Option<String> {
    let cut = |file: &File| match gone {
        Some((name, line)) if name == file.name => {
            let text = std::str::from_utf8(&file.bytes).unwrap();
            let rows: Vec<&str> = text
                .lines()
                .enumerate()
                .map(|(at, row)| if at + 1 == line { "#" } else { row })
                .collect();
            File {
                bytes: rows.join("\n").into_bytes().into(),
                ..file.clone()
            }
        }
        _ => file.clone(),
    };
    let mut problems = Problems::new();
    let tables = Tables::of(files.iter().map(cut).collect(), &mut problems);
    let page = law_page(&tables, folder, &mut problems);
    if problems.refuse() { None } else { page }
}

/// No row of law of any destination can go missing unseen: without it the page of its folder is another one, or the tables are
/// refused, so that the test above fails. A share of the rows, or all of them with `LANDWAITER_WHOLE=1`.
#[test]
fn no_row_of_any_destination_can_go_missing_unseen() {
    let every = usize::try_from(crate::made::share(1, 29)).unwrap();
    let (mut tried, mut unseen) = (0, Vec::new());
    for folder in built_in().folders() {
        let files = files_of(folder);
        let whole = page_without(folder, &files, None);
        assert!(whole.is_some(), "{folder}");
        // a month without a customs rate is said by the market rate that stands in
        let of_law = |file: &&File| {
            file.name.starts_with(&format!("{folder}/")) && !file.name.ends_with("/exchange.csv")
        };
        for file in files.iter().filter(of_law) {
            let text = std::str::from_utf8(&file.bytes).unwrap();
            let rows = text
                .lines()
                .enumerate()
                .filter(|(_, line)| !line.starts_with('#'))
                .skip(1);
            for (at, row) in rows.filter(|(at, _)| (at + folder.len()) % every == 0) {
                tried += 1;
                if page_without(folder, &files, Some((&file.name, at + 1))) == whole {
                    unseen.push(format!("{}:{}: {row}", file.name, at + 1));
                }
            }
        }
    }
    assert!(
        tried > 40 && unseen.is_empty(),
        "{tried} tried, these can go missing unseen:\n{}",
        unseen.join("\n")
    );
}
