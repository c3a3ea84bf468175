//! What `evidence` of a part says: whether it names a test report.
//!
//! A report is known by what it was tested to, by whom or under which number, and when. Everything else is no report: the
//! caution about it costs a reader a line, and a part that was never tested may cost more. A report of a day that is yet to come
//! is none yet.

use crate::units::Date;

/// Words that take a report back, or say that none was seen.
const NOT: [&str; 66] = [
    "no",
    "not",
    "none",
    "never",
    "nothing",
    "nil",
    "without",
    "lacking",
    "lacks",
    "missing",
    "absent",
    "claimed",
    "claim",
    "claims",
    "claiming",
    "allegedly",
    "supposedly",
    "reportedly",
    "apparently",
    "unknown",
    "unclear",
    "unverified",
    "untested",
    "unseen",
    "unsure",
    "pending",
    "promised",
    "promises",
    "asked",
    "ask",
    "request",
    "requested",
    "requests",
    "expected",
    "awaited",
    "awaiting",
    "planned",
    "later",
    "soon",
    "follow",
    "follows",
    "tba",
    "tbd",
    "n/a",
    "na",
    "failed",
    "fail",
    "fails",
    "failure",
    "failing",
    "broke",
    "rejected",
    "refused",
    "withdrawn",
    "expired",
    "revoked",
    "void",
    "seller",
    "seller's",
    "shop",
    "says",
    "said",
    "told",
    "maybe",
    "perhaps",
    "probably",
];

/// Words for who tests, whole or as the end of a name: `Nordlab`.
const TESTERS: [&str; 7] = [
    "lab",
    "labs",
    "laboratory",
    "laboratories",
    "laboratorium",
    "institute",
    "institut",
];

/// Standards for bicycles and their parts, by body and number; from memory. A standard for how a firm is run, such as ISO 9001,
/// tests no part.
const STANDARDS: [(&str, &str); 17] = [
    ("iso", "4210"),
    ("iso", "8098"),
    ("en", "14764"),
    ("en", "14765"),
    ("en", "14766"),
    ("en", "14781"),
    ("en", "15194"),
    ("en", "17404"),
    ("din", "79010"),
    ("din", "79105"),
    ("astm", "f2043"),
    ("astm", "f2273"),
    ("astm", "f2680"),
    ("astm", "f2711"),
    ("astm", "f2868"),
    ("jis", "d9301"),
    ("gb", "3565"),
];

/// What one word of the text is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Word {
    Standard,
    Tester,
    Number,
    Day,
    Other,
}

/// Whether a text names a test report: the standard for bicycles by its number, a laboratory or the report's number, and a
/// date that is not after `today`, and no word that takes it back.
pub(crate) fn is_report(text: &str, today: Date) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | '"'))
        .map(|word| word.trim_matches(['.', '!', '\'', ':']))
        .filter(|word| !word.is_empty())
        .collect();
    // `report no. 4711` is a number; every other `no` says that there is none.
    let numbering = |at: usize| {
        words.get(at) == Some(&"no") && words.get(at + 1).is_some_and(|next| digits(next) >= 3)
    };
    if lower.contains('?')
        || words
            .iter()
            .enumerate()
            .any(|(at, word)| NOT.contains(word) && !numbering(at))
    {
        return false;
    }
    let mut kinds: Vec<Word> = words.iter().map(|word| kind(word, today)).collect();
    for (at, pair) in words.windows(2).enumerate() {
        if let [body, number] = pair
            && is_standard(body, number)
            && let Some(kind) = kinds.get_mut(at + 1)
        {
            *kind = Word::Standard;
        }
    }
    let has = |kind: Word| kinds.contains(&kind);
    has(Word::Standard) && (has(Word::Tester) || has(Word::Number)) && has(Word::Day)
}

fn digits(word: &str) -> usize {
    word.chars().filter(char::is_ascii_digit).count()
}

/// `4210`, `4210-6` and `4210-2:2023` after their body.
fn is_standard(body: &str, number: &str) -> bool {
    let bare = number.split(['-', ':', '/']).next().unwrap_or_default();
    STANDARDS.contains(&(body, bare))
}

/// A word on its own: `iso4210-6` is a standard too.
fn kind(word: &str, today: Date) -> Word {
    let glued = STANDARDS.iter().any(|(body, number)| {
        let rest = word
            .strip_prefix(body)
            .map(|rest| rest.trim_start_matches('-'));
        rest.and_then(|rest| rest.strip_prefix(number))
            .is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric()))
    });
    if glued {
        Word::Standard
    } else if let Some(day) = earliest(word) {
        if day > today { Word::Other } else { Word::Day }
    } else if digits(word) >= 3 {
        Word::Number
    } else if TESTERS.iter().any(|tester| word.ends_with(tester)) {
        Word::Tester
    } else {
        Word::Other
    }
}

/// The first day that a year, a month of one, or a day may mean: `2025`, `2025-03`, `03/2025`, `2025-03-02`, `2.3.2025`. After a
/// year comes the month; before one, day and month may be either, and the earlier of the two counts. None for a word that is no date.
fn earliest(word: &str) -> Option<Date> {
    let parts: Vec<&str> = word.split(['-', '.', '/']).collect();
    let number =
        |part: &&str| part.bytes().all(|b| b.is_ascii_digit()) && matches!(part.len(), 1 | 2 | 4);
    let is_year =
        |part: &&str| part.len() == 4 && (part.starts_with("19") || part.starts_with("20"));
    let short: Vec<u32> = parts
        .iter()
        .filter(|part| part.len() <= 2)
        .filter_map(|part| part.parse().ok())
        .collect();
    if parts.len() > 3 || !parts.iter().all(number) || short.len() + 1 != parts.len() {
        return None;
    }
    let year: i32 = parts.iter().find(|part| is_year(part))?.parse().ok()?;
    let first = Date::new(year, 1, 1);
    match short.as_slice() {
        [month] => Date::new(year, *month, 1).or(first),
        [month, day] if parts.first().is_some_and(is_year) => {
            Date::new(year, *month, *day).or(first)
        }
        [one, other] => Date::new(year, *one, *other)
            .into_iter()
            .chain(Date::new(year, *other, *one))
            .min()
            .or(first),
        _ => first,
    }
}
