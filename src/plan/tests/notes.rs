//! What `plan` says beside its tables: every figure of a note is a sum or a difference of figures that are printed.

use crate::book::{Book, Part};
use crate::landed::{Jurisdiction, cost_rows};
use crate::plan::{Patient, Planned, Plans, Wishes, plan};
use crate::report::{Screen, Show, plan_view, text};
use crate::small::{SELLERS, ask, book, home, tables};
use crate::tables::{Tables, TaxName};
use crate::units::{Currency, Dec, HomeMoney, Rate};

const HEAD: &str = "part,place,role,standing,seller,price,currency,quantity,parcel,paid,mass_g\n";

const IN_HAND: &str = "Plain headset,headset,build,in-hand,,,,1,,10.00,80\n\
    Plain bar,handlebar,build,in-hand,,,,1,,10.00,250\n\
    Plain pedals,pedals,build,in-hand,,,,1,,10.00,300\n\
    Plain saddle,saddle,build,in-hand,,,,1,,10.00,250\n";

/// Northmoor takes 30.00 off 100.00 and more: 80.00 + 25.00 - 30.00 + 20.00 of freight = 95.00. With Southmoor's stem it is
/// 80.00 + 20.00 and 20.00 + 10.00 = 130.00: 35.00 more, though the tag is 5.00 less, as 30.00 of discount are lost and 10.00 of
/// freight come on top.
fn with_a_code() -> Book {
    let rows = format!(
        "{HEAD}{IN_HAND}Plain frame,frame,build,to-order,Northmoor,80.00,,1,,,1000\n\
        Plain stem,stem,build,to-order,Northmoor,25.00,,1,,,120\nPlain stem,,rival,,Southmoor,20.00,,,,,\n"
    );
    let codes =
        "code,seller,scope,amount,currency,min_spend\nOFF30,Northmoor,basket,30.00,GBP,100.00\n";
    book(&[("parts", &rows), ("sellers", SELLERS), ("discounts", codes)])
}

fn planned(book: &Book, tables: &Tables, settings: &[(&str, &str)]) -> Planned {
    let ask = ask(settings);
    plan(
        book,
        &Jurisdiction::open(tables, &ask).unwrap(),
        &Wishes::default(),
        &Patient,
    )
    .unwrap()
}

/// A part and its seller.
type Offer = (String, String);

/// The rows that a plan takes, with one offer in the place of another.
fn rows<'a>(book: &'a Book, plans: &Plans, swap: Option<[&Offer; 2]>) -> Vec<&'a Part> {
    let wanted = plans.plans[0].choices.iter().map(|choice| {
        let own = (choice.part.clone(), choice.seller.clone());
        swap.filter(|[taken, _]| **taken == own)
            .map_or(own.clone(), |[_, other]| other.clone())
    });
    let row = |(part, seller): (String, String)| {
        book.parts
            .iter()
            .find(|row| row.name == part && row.seller.clone().unwrap_or_default() == seller)
            .unwrap()
    };
    wanted.map(row).collect()
}

#[test]
fn a_dearer_offer_is_explained_by_sums_that_are_printed() {
    let (book, tables) = (with_a_code(), tables());
    let Planned::Found(plans) = planned(&book, &tables, &[]) else {
        panic!("no plan")
    };
    let ask = ask(&[]);
    let show = Show {
        currency: Currency::GBP,
        rate: Rate::SAME,
        tax: TaxName::Vat,
    };
    let screen = text(
        &plan_view(&plans, &ask, &show).unwrap(),
        &Screen::of(100).with_more(true),
    )
    .replace("\n  ", " ");
    let note = "higher than from Southmoor, yet the build costs 35.00 less. With the other one: discount of Northmoor 30.00 less, \
                shipping of Southmoor 10.00 more";
    assert!(screen.contains(note), "{screen}");
    // calculated again with the other offer
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let why = &plans.whys[0];
    let sum = |swap| {
        cost_rows(&book, &rows(&book, &plans, swap), &jurisdiction)
            .unwrap()
            .totals
            .landed()
            .unwrap()
    };
    let (own, other) = (sum(None), sum(Some([&why.taken, &why.cheaper])));
    assert_eq!(
        (own.fixed(2), other.fixed(2)),
        ("135.00".to_owned(), "170.00".to_owned())
    );
    assert_eq!(
        (plans.plans[0].landed, other.minus(own).unwrap().amount()),
        (own.amount(), why.landed)
    );
    assert_eq!(
        Dec::total(why.effects.iter().map(|(.., more)| *more)).unwrap(),
        why.landed.plus(why.tag).unwrap()
    );
}

/// What is gone already is what the printed rows come to, though something else was paid: 500.00 in hand, and 60.00 + 10.00 of which
/// 60.00 were paid.
#[test]
fn what_is_gone_already_is_the_sum_of_the_rows() {
    let own = format!(
        "{HEAD}{IN_HAND}Plain frame,frame,build,in-hand,,,,1,,450.00,1000\nPlain stem,stem,build,in-hand,,,,1,,10.00,120\n\
        Light stem,stem,option,to-order,Northmoor,50.00,,1,,,70\n"
    );
    let own = own.replace(
        "Plain saddle,saddle,build,in-hand,,,,1,,10.00,250",
        "Plain saddle,saddle,build,on-order,Southmoor,60.00,,1,,60.00,250",
    );
    let (book, tables) = (book(&[("parts", &own), ("sellers", SELLERS)]), tables());
    let Planned::Nothing(why) = planned(&book, &tables, &[("budget", "555.00")]) else {
        panic!("a plan over the budget")
    };
    let ask = ask(&[]);
    let landed =
        crate::landed::cost_at(&book, &Jurisdiction::open(&tables, &ask).unwrap()).unwrap();
    let printed = HomeMoney::total(
        landed
            .bills
            .iter()
            .map(|bill| bill.amounts.landed().unwrap())
            .chain([landed.totals.held]),
    )
    .unwrap();
    assert_eq!(
        (printed, landed.totals.spent),
        (home("560.00"), home("550.00"))
    );
    let note = "the parts that are paid for, given or on their way land at 560.00 GBP: that alone is more than the budget of 555.00 GBP";
    assert_eq!(why.reason.notes, [note]);
}
