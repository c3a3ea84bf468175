//! What `evidence` of a part says: whether it names a test report.
//!
//! A report is known by what it was tested to, by whom or under which number, and when. Everything else is no report: the
//! caution about it costs a reader a line, and a part that was never tested may cost more.

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
const TESTERS: [&str; 7] = ["lab", "labs", "laboratory", "laboratories", "laboratorium", "institute", "institut"];

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
/// date, and no word that takes it back.
pub fn is_report(text: &str) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> = lower
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '(' | ')' | '"'))
        .map(|word| word.trim_matches(['.', '!', '\'', ':']))
        .filter(|word| !word.is_empty())
        .collect();
    // `report no. 4711` is a number; every other `no` says that there is none.
    let numbering = |at: usize| words.get(at) == Some(&"no") && words.get(at + 1).is_some_and(|next| digits(next) >= 3);
    if lower.contains('?') || words.iter().enumerate().any(|(at, word)| NOT.contains(word) && !numbering(at)) {
        return false;
    }
    let mut kinds: Vec<Word> = words.iter().map(|word| kind(word)).collect();
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

/// A word by itself: `iso4210-6` is a standard too.
fn kind(word: &str) -> Word {
    let glued = STANDARDS.iter().any(|(body, number)| {
        let rest = word.strip_prefix(body).map(|rest| rest.trim_start_matches('-'));
        rest.and_then(|rest| rest.strip_prefix(number)).is_some_and(|rest| !rest.starts_with(|c: char| c.is_ascii_alphanumeric()))
    });
    if glued {
        Word::Standard
    } else if is_day(word) {
        Word::Day
    } else if digits(word) >= 3 {
        Word::Number
    } else if TESTERS.iter().any(|tester| word.ends_with(tester)) {
        Word::Tester
    } else {
        Word::Other
    }
}

/// A year, a month of one, or a day: `2025`, `2025-03`, `03/2025`, `2025-03-02`, `2.3.2025`.
fn is_day(word: &str) -> bool {
    let parts: Vec<&str> = word.split(['-', '.', '/']).collect();
    let number = |part: &&str| part.bytes().all(|b| b.is_ascii_digit()) && matches!(part.len(), 1 | 2 | 4);
    let year = |part: &&str| part.len() == 4 && (part.starts_with("19") || part.starts_with("20"));
    let short = parts.iter().filter(|part| part.len() <= 2).count();
    parts.len() <= 3 && parts.iter().all(number) && parts.iter().filter(|part| year(part)).count() == 1 && short + 1 == parts.len()
}
