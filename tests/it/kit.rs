//! What several tests share: a book made of text, the program run in the project's folder, and files of expected output.

pub(crate) mod whole;

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::{Arc, Mutex, OnceLock};

use landwaiter::Question;
use landwaiter::book::{Book, BookFile};
use landwaiter::landed::{Jurisdiction, Landed};
use landwaiter::tables::Tables;
use landwaiter::text::{Problems, draw};
use landwaiter::units::Date;

use self::whole::Refusal;

/// Places that a road bike must have beside its wheels, its cassette, its rotors and its calipers.
pub(crate) const SMALL_PLACES: [&str; 30] = [
    "frame",
    "fork",
    "headset",
    "expander",
    "top-cap",
    "handlebar",
    "stem",
    "bar-tape",
    "seatpost",
    "seat-clamp",
    "saddle",
    "pedals",
    "crankset",
    "bottom-bracket",
    "shifters",
    "rear-mech",
    "hanger",
    "battery",
    "chain",
    "quick-link",
    "thru-axles",
    "tyre",
    "sealant",
    "rim-tape",
    "valves",
    "hoses",
    "hose-inserts",
    "caliper-bolts",
    "rotor-lockrings",
    "grommets",
];

/// The project's folder.
pub(crate) fn home() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Whole numbers without a pattern, the same on every machine, so that a failure can be run again by its number.
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    pub(crate) fn below(&mut self, most: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }

    pub(crate) fn roll(&mut self, sides: u64) -> i64 {
        i64::try_from(self.below(sides)).unwrap()
    }

    pub(crate) fn one_in(&mut self, many: u64) -> bool {
        self.below(many) == 0
    }

    pub(crate) fn of<'a>(&mut self, list: &[&'a str]) -> &'a str {
        list[usize::try_from(self.below(list.len() as u64)).unwrap()]
    }
}

/// How many of something a test looks at: the usual number, or the whole with `LANDWAITER_WHOLE=1`, as the checks against the
/// outside do.
pub(crate) fn share(whole: u64, usual: u64) -> u64 {
    if std::env::var_os("LANDWAITER_WHOLE").is_some() {
        whole
    } else {
        usual
    }
}

/// The number that a share begins with: `LANDWAITER_SEED`, or zero.
pub(crate) fn seed() -> u64 {
    std::env::var("LANDWAITER_SEED")
        .ok()
        .and_then(|text| text.parse().ok())
        .unwrap_or_default()
}

/// One in so many of some things, from the one on that the seed says; all of them with `LANDWAITER_WHOLE=1`.
pub(crate) fn one_in<T>(many: u64, things: impl IntoIterator<Item = T>) -> impl Iterator<Item = T> {
    let step = share(1, many);
    let skipped = usize::try_from(seed() % step).unwrap();
    things
        .into_iter()
        .skip(skipped)
        .step_by(usize::try_from(step).unwrap())
}

/// A book of these tables (`parts`, its text), which must be free of errors.
#[track_caller]
pub(crate) fn book(tables: &[(&str, &str)]) -> Book {
    let file = |(table, text): &(&str, &str)| BookFile {
        path: format!("{table}.csv"),
        table: (*table).to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    let files: Vec<BookFile> = tables.iter().map(file).collect();
    let mut problems = Problems::new();
    let book = Book::read(&files, &mut problems);
    assert!(
        problems.is_empty(),
        "the book is not sound:\n{}",
        draw(&problems, false)
    );
    book
}

/// The question a book's settings ask; they must name the day.
pub(crate) fn ask(book: &Book) -> Question {
    assert!(book.settings.date.is_some(), "a test's book names its day");
    Question::new(&book.settings, Date::EPOCH).unwrap()
}

/// The tables as they are shipped.
pub(crate) fn built_in() -> Tables {
    let mut problems = Problems::new();
    let tables = Tables::load(Vec::new(), &mut problems);
    assert!(problems.is_empty(), "{}", draw(&problems, false));
    tables
}

/// What a book costs, asked of all exact readings: in decimals, as the live formulas of its workbook, and in whole numbers, none of
/// which may refuse or come to other sums.
#[track_caller]
pub(crate) fn cost(book: &Book, tables: &Tables, ask: &Question) -> Result<Landed, Problems> {
    let read = tried(book, tables, ask)?.unwrap_or_else(|error| panic!("{error}"));
    assert!(
        read.refused.is_empty(),
        "to {}, whole numbers refuse: {:?}",
        ask.to.code(),
        read.refused
    );
    Ok(read.landed)
}

/// A book in all exact readings.
pub(crate) struct Read {
    pub(crate) landed: Landed,
    /// Why whole numbers were not asked, parcel by parcel.
    pub(crate) refused: Vec<Refusal>,
}

/// The same; where readings come to other sums, what they say.
pub(crate) fn tried(
    book: &Book,
    tables: &Tables,
    ask: &Question,
) -> Result<Result<Read, String>, Problems> {
    let landed = landwaiter::cost(book, tables, ask)?;
    let jurisdiction = Jurisdiction::open(tables, ask)?;
    let works = landwaiter::landed::workings(book, &jurisdiction)?;
    #[cfg(feature = "pages")]
    if let Err(error) = landwaiter::report::workbook_agrees(&landed, &works) {
        return Ok(Err(error));
    }
    let digits = jurisdiction.currency().digits();
    let ruled = works.iter().filter_map(|work| work.ruled.as_ref());
    let whole = ruled.map(|ruled| {
        let (program, parcel) = (&ruled.prepared.program, &ruled.parcel);
        whole::agrees(program, parcel, &ruled.assessment, digits)
    });
    let refused: Result<Vec<_>, String> = whole.collect();
    Ok(refused.map(|refused| Read {
        landed,
        refused: refused.into_iter().flatten().collect(),
    }))
}

/// The rows of a CSV text after its header; lines that begin with `#` are notes.
pub(crate) fn records(text: &str) -> Vec<csv::StringRecord> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(text.as_bytes())
        .records()
        .map(Result::unwrap)
        .collect()
}

/// What a run of the program left behind.
#[derive(Debug, Clone)]
pub(crate) struct Ran {
    pub(crate) stdout: String,
    pub(crate) stderr: String,
    pub(crate) status: i32,
}

/// Runs the program in the project's folder, without terminal and without standard input. What only reads an example is run once
/// for all tests that look at it.
pub(crate) fn landwaiter(args: &[&str]) -> Ran {
    static MADE: Once<Ran> = Mutex::new(BTreeMap::new());
    if only_reads(args) {
        once(&MADE, args, || run(args))
    } else {
        run(args)
    }
}

/// What is made once, by the words it is made with.
type Once<T> = Mutex<BTreeMap<Vec<String>, Arc<OnceLock<T>>>>;

fn once<T: Clone>(all: &Once<T>, words: &[&str], make: impl FnOnce() -> T) -> T {
    let words = words.iter().map(|word| (*word).to_owned()).collect();
    let made = all.lock().unwrap().entry(words).or_default().clone();
    made.get_or_init(make).clone()
}

/// What a report of an example is written as: `page.html`, or the pictures and their words.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum As {
    Page,
    Pictures,
}

/// The texts that a report of an example writes, by the names of their files; each report is made once for all tests that look at it.
/// Pictures are square unless a shape is asked for, as those kept beside the examples are, so that one run does for both.
pub(crate) fn report(book: &str, what: As, more: &[&str]) -> Arc<BTreeMap<String, String>> {
    static MADE: Once<Arc<BTreeMap<String, String>>> = Mutex::new(BTreeMap::new());
    let make = || {
        let folder = tempfile::tempdir().unwrap();
        let page = folder.path().join("page.html");
        let place = match what {
            As::Page => ["-o", page.to_str().unwrap()],
            As::Pictures => ["--pictures", folder.path().to_str().unwrap()],
        };
        let shape: &[&str] = if what == As::Pictures && !more.contains(&"--shape") {
            &["--shape", "square"]
        } else {
            &[]
        };
        let ran = run(&[&["report", book], &place[..], shape, more].concat());
        assert_eq!(
            (ran.status, ran.stderr.as_str()),
            (0, ""),
            "{book} {more:?}"
        );
        let files = fs::read_dir(folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().path());
        let named = files.map(|path| {
            (
                path.file_name().unwrap().to_string_lossy().into_owned(),
                fs::read(path).unwrap(),
            )
        });
        Arc::new(
            named
                .filter_map(|(name, bytes)| Some((name, String::from_utf8(bytes).ok()?)))
                .collect(),
        )
    };
    once(
        &MADE,
        &[
            &[book, if what == As::Page { "page" } else { "pictures" }],
            more,
        ]
        .concat(),
        make,
    )
}

fn only_reads(args: &[&str]) -> bool {
    let reads = [
        "check", "cost", "compare", "rank", "leeway", "settle", "return",
    ]
    .contains(&args[0])
        && !args.contains(&"--add");
    reads
        && args
            .get(1)
            .is_some_and(|book| book.starts_with("examples/"))
}

fn run(args: &[&str]) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_landwaiter"));
    let output = command
        .args(args)
        .current_dir(home())
        .stdin(Stdio::null())
        .env("NO_COLOR", "1")
        .env_remove("COLUMNS")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran {
        stdout: text(output.stdout),
        stderr: text(output.stderr),
        status: output.status.code().unwrap(),
    }
}

/// Whether expected outputs are to be written anew.
pub(crate) fn updating() -> bool {
    std::env::var_os("UPDATE_EXPECTED").is_some_and(|value| value == "1")
}

/// Compares a text with a file of the project, or writes it there with `UPDATE_EXPECTED=1`.
#[track_caller]
pub(crate) fn same_as_file(file: &str, text: &str) {
    let path: PathBuf = home().join(file);
    if updating() {
        fs::write(&path, text).unwrap();
        return;
    }
    let expected = fs::read_to_string(&path).unwrap_or_default();
    assert!(
        expected == text,
        "{file} is not what the program says now; look at the difference, then run again with UPDATE_EXPECTED=1\n{}",
        difference(&expected, text)
    );
}

/// The first lines that differ.
fn difference(expected: &str, found: &str) -> String {
    let mut lines: Vec<String> = Vec::new();
    let (mut a, mut b) = (expected.lines(), found.lines());
    for number in 1.. {
        let (one, other) = (a.next(), b.next());
        if (one, other) == (None, None) || lines.len() > 20 {
            break;
        }
        if one != other {
            lines.push(format!(
                "line {number}\n  - {}\n  + {}",
                one.unwrap_or("(end)"),
                other.unwrap_or("(end)")
            ));
        }
    }
    lines.join("\n")
}
