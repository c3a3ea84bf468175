//! What `evidence` of a part says: whether it names a test report.

/// Words that take a report back, or say that none was seen.
const NOT: [&str; 27] = [
    "no",
    "not",
    "none",
    "never",
    "nothing",
    "nil",
    "without",
    "lacking",
    "missing",
    "claimed",
    "claim",
    "claims",
    "unknown",
    "unclear",
    "pending",
    "promised",
    "asked",
    "requested",
    "expected",
    "awaited",
    "later",
    "soon",
    "follow",
    "follows",
    "tba",
    "tbd",
    "n/a",
];

/// Who tests.
const TESTERS: [&str; 5] = ["lab", "laboratory", "laboratories", "institute", "labs"];

/// Bodies whose standards have numbers: ISO 4210, EN 14764, ASTM F2043, DIN 79105.
const BODIES: [&str; 12] = ["iso", "en", "din", "bs", "astm", "jis", "gb", "gb/t", "nf", "as", "csa", "ansi"];

/// Whether a text names a test report: a standard by its number, or a laboratory with a day or a number, and no word that takes
/// it back. Everything else is no report.
pub fn is_report(text: &str) -> bool {
    let lower = text.to_lowercase();
    let words: Vec<&str> =
        lower.split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | ':' | '(' | ')')).filter(|word| !word.is_empty()).collect();
    let word = |word: &&str| word.trim_matches(['.', '!', '"', '\'']).to_owned();
    if lower.contains('?') || words.iter().map(word).any(|word| NOT.contains(&word.as_str())) {
        return false;
    }
    let digits = |word: &str| word.chars().filter(char::is_ascii_digit).count();
    // `ISO 4210-6`, `EN ISO 4210`, `ISO4210`
    let standard = words.iter().enumerate().any(|(at, word)| {
        let body = word.trim_end_matches(|c: char| c.is_ascii_digit() || c == '-');
        let next = words.get(at + 1).is_some_and(|next| digits(next) >= 3);
        BODIES.contains(&body) && (digits(word) >= 3 || (body == *word && next))
    });
    let tester = words.iter().map(word).any(|word| TESTERS.contains(&word.as_str()));
    standard || (tester && words.iter().any(|word| digits(word) >= 3))
}
