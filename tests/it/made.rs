//! What tests inside and outside the library share: books made of text, what they cost, and numbers without a pattern.

use std::path::Path;
use std::sync::OnceLock;

use landwaiter::Question;
use landwaiter::book::{Book, BookFile};
use landwaiter::bulk::{Block, Columns, Done, Pricer, Setting};
use landwaiter::landed::{Jurisdiction, Landed, NoWhole};
use landwaiter::report::readings_agree;
use landwaiter::tables::{File, Tables};
use landwaiter::text::{Problems, draw};
use landwaiter::units::Date;
use proptest::test_runner::{Config, RngSeed};

/// Half a dozen parts of four sellers, three of them overseas, for Great Britain.
pub(crate) const FEW_PARTS: &str = "\
part,place,role,seller,price,currency,dispatch,freight,quantity,mass_g,channel
Bar,handlebar,build,Alder Cycle,120.00,USD,TW,18.00,1,260,post
Stem,stem,build,Alder Cycle,60.00,USD,TW,18.00,1,120,post
Saddle,saddle,build,Birk Rad,139.00,EUR,DE,9.00,1,180,courier
Pedals,pedals,build,Cobb Parts,96.00,USD,US,14.00,1,262,post
Sealant,sealant,build,Home Shop,12.00,GBP,GB,3.00,1,190,post
Saddle,,rival,Home Shop,149.00,GBP,GB,3.00,,,post
";

/// The settings of a book of [`FEW_PARTS`].
pub(crate) const FEW_SETTINGS: &str =
    "setting,value\ndestination,GB\ndate,2026-09-23\nkind,gravel\ncard_fee,2.75 %\nbudget,700\n";

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

/// What the environment says under a name, or else another number; what is no number is an error, and not the other one.
pub(crate) fn number(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).map_or(otherwise, |text| {
        text.parse()
            .unwrap_or_else(|_| panic!("{name} is `{text}`, not a whole number"))
    })
}

/// The number that a share begins with: `LANDWAITER_SEED`, or zero.
pub(crate) fn seed() -> u64 {
    number("LANDWAITER_SEED", 0)
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

/// The files of a book of these tables (`parts`, its text).
pub(crate) fn files(tables: &[(&str, &str)]) -> Vec<BookFile> {
    let file = |(table, text): &(&str, &str)| BookFile {
        path: format!("{table}.csv"),
        table: (*table).to_owned(),
        bytes: text.as_bytes().to_vec(),
    };
    tables.iter().map(file).collect()
}

/// A book of these tables, and everything that is wrong with it.
pub(crate) fn read(tables: &[(&str, &str)]) -> (Book, Problems) {
    let mut problems = Problems::new();
    let book = Book::read(&files(tables), &mut problems);
    (book, problems)
}

/// A book of these tables, with which nothing at all may be wrong.
#[track_caller]
pub(crate) fn book(tables: &[(&str, &str)]) -> Book {
    let (book, problems) = read(tables);
    assert!(
        problems.is_empty(),
        "the book is not sound:\n{}",
        draw(&problems, false)
    );
    book
}

/// A book of these tables that is taken, though it may be asked about.
#[track_caller]
pub(crate) fn taken(tables: &[(&str, &str)]) -> Book {
    let (book, problems) = read(tables);
    assert!(!problems.refuse(), "{}", draw(&problems, false));
    book
}

/// Tables that a test wrote, as those that read them take them.
pub(crate) fn borrowed<'a>(tables: &'a [(&'static str, String)]) -> Vec<(&'a str, &'a str)> {
    let one = |(name, text): &'a (&'static str, String)| (*name, text.as_str());
    tables.iter().map(one).collect()
}

/// Messages with their places: `own/aq/charges.csv:4 …`.
pub(crate) fn said(problems: &Problems) -> Vec<String> {
    let one = |p: &landwaiter::text::Diagnostic| match &p.place {
        Some(place) => format!("{place} {}", p.message),
        None => p.message.clone(),
    };
    problems.iter().map(one).collect()
}

/// Asserts that a message stands at a place and has a word in it.
#[track_caller]
pub(crate) fn one_says(found: &[String], place: &str, word: &str) {
    let says = |one: &String| one.starts_with(place) && one.contains(word);
    assert!(found.iter().any(says), "{place} {word}: {found:?}");
}

/// A table of one's own.
pub(crate) fn own((name, text): &(&str, &str)) -> File {
    File {
        path: format!("own/{name}"),
        name: (*name).to_owned(),
        bytes: text.as_bytes().to_vec().into(),
        users: true,
    }
}

/// The question a book's settings ask; they must name the day.
pub(crate) fn ask(book: &Book) -> Question {
    assert!(book.settings.date.is_some(), "a test's book names its day");
    Question::new(&book.settings, Date::EPOCH).unwrap()
}

/// The tables as they are shipped, read once.
pub(crate) fn built_in() -> &'static Tables {
    static TABLES: OnceLock<Tables> = OnceLock::new();
    TABLES.get_or_init(|| {
        let mut problems = Problems::new();
        let tables = Tables::load(Vec::new(), &mut problems);
        assert!(problems.is_empty(), "{}", draw(&problems, false));
        tables
    })
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
    pub(crate) refused: Vec<NoWhole>,
}

/// The same; where readings come to other sums, what they say.
pub(crate) fn tried(
    book: &Book,
    tables: &Tables,
    ask: &Question,
) -> Result<Result<Read, String>, Problems> {
    let landed = landwaiter::cost(book, tables, ask)?;
    let jurisdiction = Jurisdiction::open(tables, ask)?;
    let refused = readings_agree(&landed, book, &jurisdiction)?;
    Ok(refused.map(|refused| Read { landed, refused }))
}

/// A price list that stands in memory, priced whole with the sellers of a book.
pub(crate) fn priced(list: &str, book: &Book, tables: &Tables, ask: &Question) -> Done {
    let (columns, first) = Columns::of_list(list.as_bytes()).unwrap();
    let setting = Setting {
        tables,
        ask,
        sellers: &book.sellers,
        columns: &columns,
        plain_cells: false,
    };
    let mut pricer =
        Pricer::open(&setting).unwrap_or_else(|problems| panic!("{}", draw(&problems, false)));
    let mut done = Done::default();
    let rest = Block {
        bytes: &list.as_bytes()[first..],
        first_line: 2,
        returns: &[],
        last: true,
        keep_going: false,
    };
    pricer.block(rest, &mut done);
    done
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

/// So many cases, always the same ones unless the environment says otherwise.
pub(crate) fn cases(count: u32) -> Config {
    let told = |name: &str| std::env::var_os(name).is_some();
    let mut config = Config {
        failure_persistence: None,
        ..Config::default()
    };
    if !told("PROPTEST_CASES") {
        // a third of them here, all in the checks against the outside
        config.cases = u32::try_from(share(count.into(), u64::from(count) / 3)).unwrap();
    }
    if !told("PROPTEST_RNG_SEED") {
        config.rng_seed = RngSeed::Fixed(1734);
    }
    config
}
