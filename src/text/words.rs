//! Grammar for messages: counts, lists, quoting, and the nearest known word.

use std::cell::Cell;

use super::second_names::{Leads, leads};

thread_local! {
    /// Whether the nearest word is looked for.
    static HINTS: Cell<bool> = const { Cell::new(true) };
}

/// Does this with hints or without them: for problems that are only counted none are worked out, which takes most of the time.
pub(crate) fn hinting<T>(wanted: bool, work: impl FnOnce() -> T) -> T {
    let before = HINTS.replace(wanted);
    let done = work();
    HINTS.set(before);
    done
}

/// `1 part`, `3 parts`.
pub(crate) fn count(number: usize, one: &str, many: &str) -> String {
    format!("{number} {}", if number == 1 { one } else { many })
}

/// The same with a capital letter first, as a sentence begins; what stands in backticks stays as it is.
pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// The article before a word: `an` before a vowel, `a` before any other sound.
pub(crate) fn article(word: &str) -> &'static str {
    const SOUNDS_OTHERWISE: [&str; 6] = ["eu", "one", "uni", "use", "usu", "uti"];
    let word = word.to_lowercase();
    let vowel = word.starts_with(['a', 'e', 'i', 'o', 'u', '8'])
        && !SOUNDS_OTHERWISE.iter().any(|start| word.starts_with(start));
    if vowel { "an" } else { "a" }
}

/// `a`, `a and b`, `a, b and c`.
pub(crate) fn list<T: AsRef<str>>(items: &[T], joint: &str) -> String {
    match items {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [most @ .., last] => {
            let most: Vec<&str> = most.iter().map(AsRef::as_ref).collect();
            format!("{} {joint} {}", most.join(", "), last.as_ref())
        }
    }
}

/// The first few of a list, and how many more there are, so that a sentence stays one.
pub(crate) fn few<T: AsRef<str>>(items: &[T]) -> String {
    some(items, 6)
}

/// The first of a list, at most `most`, and how many more there are.
pub(crate) fn some<T: AsRef<str>>(items: &[T], most: usize) -> String {
    let mut shown: Vec<String> = items
        .iter()
        .take(most)
        .map(|item| item.as_ref().to_owned())
        .collect();
    if items.len() > most {
        shown.push(format!("{} more", items.len() - most));
    }
    list(&shown, "and")
}

/// The text in backticks, with control characters shown and long texts cut.
pub(crate) fn quoted(text: &str) -> String {
    const LONGEST: usize = 60;
    let mut shown =
        super::visible(&text.chars().take(LONGEST).collect::<String>()).replace('\n', "\\n");
    if text.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    format!("`{shown}`")
}

/// The known word that was meant by one that is not: the one it is a second name of, else the nearest, if any is near.
pub(crate) fn nearest<'a>(
    typed: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    const LONGEST: usize = 60;
    if typed.is_empty() || typed.len() > LONGEST || !HINTS.get() {
        return None;
    }
    let known: Vec<&str> = known.into_iter().collect();
    match leads(typed, &known) {
        Leads::To(word) => return Some(word),
        Leads::Elsewhere => return None,
        Leads::Nowhere => {}
    }
    let typed = typed.to_lowercase();
    let limit = match typed.chars().count() {
        0..3 => 0,
        letters => letters / 3,
    };
    let near = |word: &'a str| {
        let other = word.to_lowercase();
        may_be_near(&typed, &other, limit)
            .then(|| (strsim::damerau_levenshtein(&typed, &other), word))
    };
    let best = known
        .into_iter()
        .filter_map(near)
        .min_by(|a, b| a.0.cmp(&b.0).then(a.1.cmp(b.1)));
    best.filter(|(distance, _)| *distance <= limit)
        .map(|(_, word)| word)
}

/// The known word that a second name of it leads to.
pub(super) fn leads_to<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    match leads(typed, known) {
        Leads::To(word) => Some(word),
        Leads::Elsewhere | Leads::Nowhere => None,
    }
}

/// Whether two words may be so few changes apart: each letter that only one of them has is a change, and so is each letter by
/// which one is longer. That is seen much sooner than the distance is found.
fn may_be_near(one: &str, other: &str, limit: usize) -> bool {
    let missing =
        |from: &str, to: &str| from.chars().filter(|letter| !to.contains(*letter)).count();
    one.chars().count().abs_diff(other.chars().count()) <= limit
        && missing(one, other) <= limit
        && missing(other, one) <= limit
}

/// The first known code that is one letter away from one that is not known; codes of one letter are near to everything.
pub(crate) fn nearest_code<'a>(
    typed: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let near = |code: &&str| {
        code.len() > 1
            && strsim::damerau_levenshtein(&typed.to_uppercase(), &code.to_uppercase()) <= 1
    };
    known.into_iter().find(near)
}

/// Whether two words of some length differ by one letter: one too many, too few, another, or two that changed places. Digits
/// tell things apart.
pub(crate) fn one_letter_apart(one: &str, other: &str) -> bool {
    const SHORTEST: usize = 4;
    let long = one.chars().count().min(other.chars().count()) >= SHORTEST;
    let letters = !one.chars().chain(other.chars()).any(|c| c.is_ascii_digit());
    long && letters && strsim::damerau_levenshtein(one, other) == 1
}

/// `A` to `Z`, then `AA`: each whole number from zero has letters of its own.
pub(crate) fn letters(mut at: usize) -> String {
    let mut found = Vec::new();
    loop {
        found.insert(
            0,
            u8::try_from(at % 26).map_or('?', |n| char::from(b'A' + n)),
        );
        if at < 26 {
            return found.into_iter().collect();
        }
        at = at / 26 - 1;
    }
}

/// The word of a value in a list of words.
pub(crate) fn word_of<T: Copy + PartialEq>(words: &[(&'static str, T)], value: T) -> &'static str {
    words
        .iter()
        .find(|(_, known)| *known == value)
        .map_or("", |(word, _)| word)
}

/// Reads one of a list of words; the error lists them and names the nearest.
pub(crate) fn one_of<T: Copy>(words: &[(&'static str, T)], text: &str) -> Result<T, String> {
    if let Some((_, value)) = words.iter().find(|(word, _)| *word == text) {
        return Ok(*value);
    }
    let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
    let expected = format!("expected {}", list(&known, "or"));
    Err(nearest(text, known).map_or(expected.clone(), |near| {
        format!("{expected}; did you mean `{near}`?")
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grammar() {
        assert_eq!(count(1, "part", "parts"), "1 part");
        assert_eq!(list(&["a", "b", "c"], "and"), "a, b and c");
        let articles: Vec<&str> = [
            "anti-dumping",
            "import tax",
            "duty",
            "unit",
            "Ergo bar",
            "8 mm axle",
        ]
        .map(article)
        .into();
        assert_eq!(articles, ["an", "an", "a", "a", "an", "an"]);
        assert_eq!(quoted("a\tb"), "`a\\tb`");
    }

    #[test]
    fn letters_never_come_again() {
        let of = |at: usize| letters(at);
        assert_eq!([0, 25, 26, 701, 702].map(of), ["A", "Z", "AA", "ZZ", "AAA"]);
    }

    #[test]
    fn near_and_far() {
        assert_eq!(nearest("prise", ["price", "place"]), Some("price"));
        assert_eq!(nearest("zebra", ["price", "place"]), None);
        assert_eq!(
            hinting(false, || nearest("prise", ["price", "place"])),
            None
        );
        assert_eq!(
            nearest("prise", ["price", "place"]),
            Some("price"),
            "hints come again"
        );
    }

    /// What is passed over is never near: the distance itself says the same for every pair.
    #[test]
    fn nothing_near_is_passed_over() {
        let words = [
            "price", "prise", "pirce", "place", "pieces", "xxx", "axx", "mass_g", "mass", "größe",
            "grosse", "a", "ab", "",
        ];
        for (one, other) in words
            .iter()
            .flat_map(|one| words.iter().map(move |other| (*one, *other)))
        {
            let distance = strsim::damerau_levenshtein(one, other);
            assert!(
                may_be_near(one, other, distance),
                "{one} {other}: {distance}"
            );
        }
        assert!(!may_be_near("zebra", "price", 2) && !may_be_near("ab", "abcd", 1));
    }

    #[test]
    fn a_second_name_leads_to_what_was_meant() {
        assert_eq!(nearest("weight", ["freight", "mass_g"]), Some("mass_g"));
        assert_eq!(nearest("Weight (g)", ["freight", "mass_g"]), Some("mass_g"));
        // Where the thing that was meant is not known, a word that only looks alike is no hint.
        assert_eq!(nearest("weight", ["freight", "dispatch"]), None);
        assert_eq!(nearest("Tires", ["tyre", "wheels", "stem"]), Some("tyre"));
        assert_eq!(
            nearest("rear derailleur", ["rear-mech", "front-mech"]),
            Some("rear-mech")
        );
    }
}
