//! Regions of countries by their codes of ISO 3166-2, for the destinations of the tables.

use super::country::Country;

/// The codes of a country's regions; none for a country without a list.
pub(crate) fn regions(country: Country) -> Option<impl Iterator<Item = &'static str>> {
    let rows = include_str!("regions.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1);
    let mut rows = rows.filter_map(|line| line.split_once(','));
    rows.find(|(code, _)| *code == country.code())
        .map(|(_, codes)| codes.split(' '))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn regions_are_found_by_their_country() {
        let found = |code: &str| {
            Country::parse(code)
                .and_then(regions)
                .map(Iterator::collect::<Vec<_>>)
        };
        // ISO 3166-2, from memory: Canada has ten provinces and three territories, Finland nineteen numbers
        assert_eq!(found("CA").unwrap().len(), 13);
        assert!(found("FI").unwrap().contains(&"19") && !found("FI").unwrap().contains(&"20"));
        assert!(found("VN").is_none());
    }
}
