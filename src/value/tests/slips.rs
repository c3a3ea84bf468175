//! Slips of a book that the checks ask about.

use crate::cost;
use crate::landed::Jurisdiction;
use crate::small::{self, SELLERS, ask, tables, tables_with};
use crate::text::Problems;
use crate::value::check;

fn checked(rows: &str) -> Vec<String> {
    let parts = format!("part,place,seller,price,currency,quantity,mass_g\n{rows}");
    let book = small::book(&[("parts", &parts), ("sellers", SELLERS)]);
    let (tables, ask, mut problems) = (tables(), ask(&[]), Problems::new());
    check(
        &book,
        &Jurisdiction::open(&tables, &ask).unwrap(),
        &mut problems,
    );
    problems
        .sorted()
        .iter()
        .map(|problem| problem.message.clone())
        .collect()
}

#[test]
fn two_spellings_of_one_seller_are_asked_about() {
    let parts = "part,place,seller,price,currency,dispatch,quantity,mass_g\n\
                 Frame,frame,Taolin Parts House,90.00,GBP,TW,1,1000\n\
                 Saddle,saddle,Taolin Parts,90.00,GBP,TW,1,200\n\
                 Stem,stem,Weihu Works,90.00,GBP,TW,1,120\n";
    let book = small::book(&[("parts", parts)]);
    let (tables, ask, mut problems) = (tables(), ask(&[]), Problems::new());
    check(
        &book,
        &Jurisdiction::open(&tables, &ask).unwrap(),
        &mut problems,
    );
    let said: Vec<&str> = problems
        .iter()
        .map(|problem| problem.message.as_str())
        .collect();
    assert_eq!(
        said,
        [
            "`seller` is `Taolin Parts`: may be the seller `Taolin Parts House` at parts.csv:2 written otherwise"
        ]
    );
    assert!(!problems.refuse());
}

#[test]
fn one_piece_where_a_place_takes_two_is_asked_about() {
    let said = checked("Tyre,tyre,,10.00,GBP,1,300\n");
    assert_eq!(
        said,
        ["`quantity` is `1`: 1 is at `tyre`, which takes 2 pieces: is one missing?"]
    );
    assert_eq!(checked("Tyre,tyre,,10.00,GBP,1,\n").len(), 1);
    // A pair sold as one weighs what both do.
    assert!(checked("Tyre pair,tyre,,10.00,GBP,1,600\n").is_empty());
    assert!(checked("Tyre,tyre,,10.00,GBP,2,300\n").is_empty());
}

#[test]
fn a_digit_too_many_or_too_few_is_asked_about() {
    // Two tyres weigh 440 to 700 g, one 220 to 350; a saddle 120 to 290 g.
    let said = checked("Tyre,tyre,,10.00,GBP,2,3000\nSaddle,saddle,,10.00,GBP,1,21\n");
    assert_eq!(
        said,
        [
            "`mass_g` is `3000`: one at `tyre` usually weighs 220 to 350 g: is that a digit too many?",
            "`mass_g` is `21`: one at `saddle` usually weighs 120 to 290 g: is that a digit too few?"
        ]
    );
    // Light and heavy ones are no slips.
    assert!(checked("Tyre,tyre,,10.00,GBP,2,600\nSaddle,saddle,,10.00,GBP,1,70\n").is_empty());
}

#[test]
fn a_choice_whose_value_no_rule_knows_is_said() {
    let charges = "charge,kind,order,level,of,percent,when,valid_from\n\
                   vat,tax,40,consignment,goods,20,choice.scheme = trader,2021-01-01\n\
                   vat,tax,40,consignment,goods,10,choice.scheme != trader,2021-01-01\n";
    let tables = tables_with(&[("gb/charges.csv", charges)]);
    let parts = "part,place,seller,price,currency\nSaddle,saddle,Southmoor,200.00,GBP\n";
    let book = small::book(&[("parts", parts), ("sellers", SELLERS)]);
    let said = |value: &str| -> Vec<String> {
        let landed = cost(&book, &tables, &ask(&[("choice.scheme", value)])).unwrap();
        landed
            .cautions
            .into_iter()
            .filter(|c| c.id == "choice-value-unused")
            .map(|c| c.text)
            .collect()
    };
    let text = "asks whether the choice `scheme` is `tradr`: the rules ask for `trader` (`--choice scheme=tradr`); did you mean `trader`?";
    let found = said("tradr");
    assert!(found.len() == 1 && found[0].ends_with(text), "{found:?}");
    assert!(said("trader").is_empty());
}
