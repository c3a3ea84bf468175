//! What of a workbook does not move with its inputs, each with the reason; what a book has none of is left out.

use crate::landed::Working;

/// What is fixed for every book.
const ALWAYS: [(&str, &str); 6] = [
    (
        "which parts travel in which parcel",
        "parcels are formed from the book: change a part's seller there, and make the workbook again",
    ),
    (
        "rows of tariff, taxes and codes",
        "they hang on digits, origin and dates, which are searched for in tables that are not in here; their rates are live",
    ),
    (
        "which rate counts where a commodity code is too short",
        "the highest was chosen for these sums; where the whole code is given, nothing is chosen",
    ),
    (
        "which rows of charges and limits",
        "what they ask of the parcel (channel, sender, days) is answered; what they ask of sums is live",
    ),
    (
        "whether prices hold tax",
        "the reading that fits the limit was chosen; the rate by which tax is taken out is live",
    ),
    (
        "days",
        "exchange, rates and limits are those of the days on the sheets of parcels",
    ),
];

/// What is fixed in the workbook of these parcels.
pub(super) fn fixed(works: &[Working<'_>]) -> Vec<(String, String)> {
    let pair = |what: &str, why: &str| (what.to_owned(), why.to_owned());
    let mut found: Vec<_> = ALWAYS.iter().map(|(what, why)| pair(what, why)).collect();
    if works.iter().any(|work| !work.asking.1.codes.is_empty()) {
        found.push(pair(
            "which discounts hold",
            "their dates were looked at; their least spends, percentages and amounts are live",
        ));
    }
    for work in works {
        if let Some(table) = &work.schedule {
            found.push((
                format!("the freight of {}", work.bill.id),
                format!(
                    "the table `{table}` is in another currency, or has no price for the mass; type an amount for another mass"
                ),
            ));
        }
        for line in work.lines.iter().filter(|line| line.guessed) {
            found.push((
                format!("the packed mass of {}", line.part.name),
                "no mass is stated, so it is the usual one of its place and does not go by pieces"
                    .to_owned(),
            ));
        }
    }
    let looked_up = works.iter().filter_map(|work| work.law.as_ref());
    if looked_up
        .flat_map(|law| law.told.form.figures())
        .any(|(_, figure)| figure.is_looked_up())
    {
        found.push(pair(
            "freight by a table that the law names",
            "it was looked up for the packed mass as it was; type another amount for another mass",
        ));
    }
    let sent_back = |work: &Working<'_>| {
        !work.refunds.is_empty() || work.sent_back.iter().any(|part| !part.is_zero())
    };
    if works.iter().any(sent_back) {
        found.push(pair(
            "money back, and what sending back cost",
            "they hang on which part each receipt is for, and stand as `cost` shares them",
        ));
    }
    found
}
