//! A sum tried through the front door: one parcel, tables written where they are used, and the figures that must come out.
//!
//! The made-up destination is Antarctica, `AQ`, in whatever money a case needs; its tables are a user's own, and stand alone.
//! [`Case::proves`] asserts the figures, takes the rows under test away, and asserts that a figure changes or the tables are
//! refused: a row that nothing hangs on proves nothing.

use std::collections::BTreeMap;

use landwaiter::Question;
use landwaiter::book::Book;
use landwaiter::landed::Landed;
use landwaiter::tables::{File, Tables};
use landwaiter::text::Problems;
use landwaiter::units::{Date, Dec, number};

use crate::made::{self, cost, said};

/// Places for made-up parcels: a few of a bike's, and `thing` for goods of any kind.
const PLACES: &str = "place,pieces,need,hs6,text,low_g,high_g
    frame,1,required,871491,bicycle frame,900,1100
    fork,1,required,871491,bicycle fork,400,500
    wheels,1,required,871499,pair of wheels,1400,1600
    hub,1,optional,871493,hub,200,300
    rim,1,optional,871492,rim,400,500
    saddle,1,required,871495,saddle,120,290
    thing,*,optional,,,,";

/// One parcel and the tables it meets.
#[derive(Clone)]
pub(crate) struct Case {
    to: &'static str,
    built_in: bool,
    files: Vec<File>,
    parts: String,
    book: BTreeMap<&'static str, String>,
    seller: BTreeMap<String, String>,
    settings: BTreeMap<String, String>,
}

/// A figure asked for: `duty`, `remedy`, `tax`, `sale-tax`, `fee`, `card`, `landed`, `landed without disputed`, `collected`, `gaps`, `ended`
/// (what ended, each with its last day),
/// `said ID` (whether a caution is said), the id of a row of the sum (`none` where it is not due), or one of them and a part: `duty of
/// frame`.
pub(crate) type Figure = (&'static str, &'static str);

impl Case {
    /// A parcel to Antarctica, whose money is this.
    pub(crate) fn new(money: &str) -> Case {
        let case = Case {
            to: "AQ",
            built_in: false,
            files: Vec::new(),
            parts: String::new(),
            book: BTreeMap::new(),
            seller: BTreeMap::new(),
            settings: BTreeMap::new(),
        };
        case.table(
            "destinations.csv",
            &format!("country,currency,customs_exchange\nAQ,{money},as-listed"),
        )
        .table("places.csv", PLACES)
        .on("2026-03-02")
        .seller(&format!(
            "dispatch=TW; currency={money}; freight=0; channel=courier; transit_days=0"
        ))
    }

    /// A parcel to Great Britain under the built-in tables, with more laid over them.
    pub(crate) fn gb() -> Case {
        let mut case = Case::new("GBP");
        case.files.clear();
        Case {
            to: "GB",
            built_in: true,
            ..case
        }
    }

    /// A table of the user's; a line's leading blanks do not count, and every row is in force from 2000 on unless it says otherwise.
    pub(crate) fn table(self, name: &str, text: &str) -> Case {
        self.file(name, text, true)
    }

    /// A table as if it were built in.
    pub(crate) fn shipped(self, name: &str, text: &str) -> Case {
        self.file(name, text, false)
    }

    fn file(mut self, name: &str, text: &str, users: bool) -> Case {
        let lines: Vec<&str> = text
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .collect();
        let bytes = format!(
            "# valid_from = 2000-01-01\n# source = a test\n{}\n",
            lines.join("\n")
        )
        .into_bytes();
        self.files
            .retain(|file| file.name != name || file.users != users);
        let path = if users {
            format!("own/{name}")
        } else {
            format!("rates/{name}")
        };
        self.files.push(File {
            path,
            name: name.to_owned(),
            bytes: bytes.into(),
            users,
        });
        self
    }

    /// A table of the destination's own folder: `charges`, `reliefs`, `tariff`, …
    pub(crate) fn law(self, name: &str, text: &str) -> Case {
        let folder = self.to.to_lowercase();
        self.table(&format!("{folder}/{name}.csv"), text)
    }

    /// The parts, all of one seller.
    pub(crate) fn parts(mut self, text: &str) -> Case {
        let lines: Vec<&str> = text
            .lines()
            .map(str::trim)
            .filter(|line| !line.is_empty())
            .collect();
        let (header, rows) = lines.split_first().unwrap();
        let rows: Vec<String> = rows.iter().map(|row| format!("Seller,{row}")).collect();
        self.parts = format!("seller,{header}\n{}\n", rows.join("\n"));
        self
    }

    /// Cells of the seller's row, by column: `freight=850; insurance=500`.
    pub(crate) fn seller(mut self, cells: &str) -> Case {
        for cell in cells.split(';') {
            let (column, value) = cell.split_once('=').unwrap();
            self.seller
                .insert(column.trim().to_owned(), value.trim().to_owned());
        }
        self
    }

    /// The day of ordering.
    pub(crate) fn on(self, day: &str) -> Case {
        self.set("date", day)
    }

    /// A setting.
    pub(crate) fn set(mut self, name: &str, value: &str) -> Case {
        self.settings.insert(name.to_owned(), value.to_owned());
        self
    }

    /// The destination's region.
    pub(crate) fn region(self, region: &str) -> Case {
        let to = format!("{}-{region}", self.to);
        self.set("destination", &to)
    }

    /// The tables, or every problem in them.
    pub(crate) fn tables(&self) -> (Tables, Problems) {
        let mut problems = Problems::new();
        let load = if self.built_in {
            Tables::load
        } else {
            Tables::of
        };
        let tables = load(self.files.clone(), &mut problems);
        (tables, problems)
    }

    /// The book of one parcel, which must be sound.
    #[track_caller]
    fn written(&self) -> Book {
        let columns: Vec<&str> = self.seller.keys().map(String::as_str).collect();
        let cells: Vec<&str> = self.seller.values().map(String::as_str).collect();
        let sellers = format!("seller,{}\nSeller,{}\n", columns.join(","), cells.join(","));
        let mut texts: BTreeMap<&str, String> = self.book.clone();
        texts.insert("sellers", sellers);
        texts.insert("parts", self.parts.clone());
        let mut settings: BTreeMap<String, String> = self.settings.clone();
        settings
            .entry("destination".to_owned())
            .or_insert(self.to.to_owned());
        let rows: Vec<String> = settings
            .iter()
            .map(|(name, value)| format!("{name},{value}"))
            .collect();
        texts.insert("settings", format!("setting,value\n{}\n", rows.join("\n")));
        let texts: Vec<(&'static str, String)> = texts.into_iter().collect();
        made::book(&made::borrowed(&texts))
    }

    /// The tables, which must be sound, and the question.
    #[track_caller]
    pub(crate) fn asked(&self) -> (Tables, Question) {
        let (tables, problems) = self.tables();
        assert!(
            !problems.refuse(),
            "the tables are not sound: {:?}",
            said(&problems)
        );
        (
            tables,
            Question::new(&self.written().settings, Date::EPOCH).unwrap(),
        )
    }

    /// Calculates it; refused tables and rows give their messages instead.
    #[track_caller]
    pub(crate) fn run(&self) -> Result<Landed, Vec<String>> {
        let book = self.written();
        let (tables, problems) = self.tables();
        if problems.refuse() {
            return Err(said(&problems));
        }
        let ask = Question::new(&book.settings, Date::EPOCH).unwrap();
        cost(&book, &tables, &ask).map_err(|problems| said(&problems))
    }

    /// The figures, as far as they can be had.
    #[track_caller]
    fn figures(&self, wanted: &[Figure]) -> Result<Vec<String>, Vec<String>> {
        let landed = self.run()?;
        Ok(wanted
            .iter()
            .map(|(name, _)| figure(&landed, name))
            .collect())
    }

    /// Asserts figures.
    #[track_caller]
    pub(crate) fn gives(&self, wanted: &[Figure]) -> &Case {
        let found = self
            .figures(wanted)
            .unwrap_or_else(|problems| panic!("refused: {}", problems.join("\n")));
        let expected: Vec<String> = wanted.iter().map(|(_, value)| normal(value)).collect();
        let names: Vec<&str> = wanted.iter().map(|(name, _)| *name).collect();
        assert_eq!(found, expected, "{names:?}");
        self
    }

    /// Asserts figures, and that they hang on the rows of a table that begin so.
    #[track_caller]
    pub(crate) fn proves(&self, table: &str, row: &str, wanted: &[Figure]) -> &Case {
        self.gives(wanted);
        let expected: Vec<String> = wanted.iter().map(|(_, value)| normal(value)).collect();
        if let Ok(found) = self.without(table, row).figures(wanted) {
            assert_ne!(
                found, expected,
                "without `{row}` of {table} the figures are the same"
            );
        }
        self
    }

    /// The same without the rows of a table that begin so; there must be one.
    #[track_caller]
    fn without(&self, table: &str, row: &str) -> Case {
        let mut case = self.clone();
        let mut gone = 0;
        let ends = [format!("/{table}.csv"), format!("{table}.csv")];
        for file in case
            .files
            .iter_mut()
            .filter(|file| file.name.ends_with(&ends[0]) || file.name == ends[1])
        {
            let text = String::from_utf8(file.bytes.to_vec()).unwrap();
            let kept: Vec<&str> = text.lines().filter(|line| !line.starts_with(row)).collect();
            gone += text.lines().count() - kept.len();
            file.bytes = (kept.join("\n") + "\n").into_bytes().into();
        }
        assert!(gone > 0, "there is no row `{row}` in {table}");
        case
    }

    /// Asserts that it is refused with a message that holds this text.
    #[track_caller]
    pub(crate) fn refused(&self, text: &str) {
        let problems = self.run().map(|_| ()).expect_err("it is refused");
        assert!(
            problems.iter().any(|problem| problem.contains(text)),
            "{problems:?}"
        );
    }
}

/// A number in its shortest form; other text as it is.
fn normal(text: &str) -> String {
    number::plain(text).map_or_else(|_| text.to_owned(), |value| value.to_string())
}

/// One figure of the only bill.
fn figure(landed: &Landed, name: &str) -> String {
    assert_eq!(landed.bills.len(), 1, "one parcel");
    let bill = &landed.bills[0];
    let (name, amounts) = match name.split_once(" of ") {
        Some((name, part)) => (
            name,
            bill.lines
                .iter()
                .find(|line| line.part == part)
                .unwrap()
                .amounts,
        ),
        None => (name, bill.amounts),
    };
    let row = || {
        let steps = bill
            .trail
            .iter()
            .filter(|step| step.id == name && step.kind != "relief");
        let due: Vec<Dec> = steps.filter_map(|step| step.amount).collect();
        if due.is_empty() {
            "none".to_owned()
        } else {
            Dec::total(due).unwrap().to_string()
        }
    };
    match name {
        "duty" => amounts.duty.to_string(),
        "remedy" => amounts.remedy.to_string(),
        "tax" => amounts.tax_at_border.to_string(),
        "sale-tax" => amounts.tax_at_sale.to_string(),
        "fee" => amounts.handling.to_string(),
        "card" => amounts.card_fee.to_string(),
        "goods" => amounts.goods.to_string(),
        "freight" => amounts.freight.to_string(),
        "landed" => amounts.landed().unwrap().to_string(),
        "landed without disputed" => bill.landed_undisputed.to_string(),
        "collected" => bill.tax_collected.to_owned(),
        "gaps" => bill.gaps.join(" + "),
        "ended" => bill
            .ended
            .iter()
            .map(|one| format!("{} {}", one.id, one.on))
            .collect::<Vec<_>>()
            .join(" + "),
        _ if name.starts_with("said ") => {
            let said = landed
                .cautions
                .iter()
                .any(|caution| name.strip_prefix("said ") == Some(caution.id));
            if said { "yes" } else { "no" }.to_owned()
        }
        _ => row(),
    }
}
