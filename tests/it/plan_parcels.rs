//! `plan` where parcels are on their way already: offers of their sellers travel in parcels of their own, and a budget that is
//! used up by what is spent is said.

use landwaiter::book::Book;
use landwaiter::landed::Jurisdiction;
use landwaiter::plan::{Patient, Planned, Wishes, look_at, plan, search};

use super::small::{ROWS, SELLERS, ask, book, tables};

fn own(rows: &str) -> Book {
    book(&[("parts", rows), ("sellers", SELLERS)])
}

fn planned(rows: &str, settings: &[(&str, &str)], wishes: &Wishes) -> Planned {
    let (book, tables, ask) = (own(rows), tables(), ask(settings));
    plan(
        &book,
        &Jurisdiction::open(&tables, &ask).unwrap(),
        wishes,
        &Patient,
    )
    .unwrap()
}

/// The same choice as the search gets it: what is spent is no part of it, so the light stem costs 60.00, in hundredths of pence.
#[test]
fn a_choice_that_is_shown_is_the_one_that_is_planned() {
    let (book, tables) = (own(ROWS), tables());
    let ask = ask(&[("max_mass_g", "1960")]);
    let jurisdiction = Jurisdiction::open(&tables, &ask).unwrap();
    let look = |wishes: &Wishes| {
        look_at(
            &book,
            &jurisdiction,
            wishes,
            &Patient,
            |model, cost, goal| {
                let found = search(model, cost, goal, &Patient).unwrap();
                let best = found.plans.into_iter().next().unwrap();
                assert_eq!(
                    model.price(cost, &best.offers),
                    Some((best.cost, best.mass))
                );
                best.cost
            },
        )
    };
    assert_eq!(look(&Wishes::default()).unwrap(), 600_000);
    let unknown = Wishes {
        keep: vec!["Nobody's stem".to_owned()],
        ..Wishes::default()
    };
    assert!(look(&unknown).is_err());
}

/// 500.00 + 70.00, and the light stem in a parcel of its own: 50.00 + 10.00, under the limit of 100.00: 630.00 in all, 1950 g.
#[test]
fn an_offer_of_a_seller_with_a_parcel_on_its_way_travels_apart() {
    let Planned::Found(plans) = planned(ROWS, &[("max_mass_g", "1960")], &Wishes::default()) else {
        panic!("no plan")
    };
    assert_eq!(
        (
            plans.plans[0].landed.fixed(2),
            plans.plans[0].mass.to_string()
        ),
        ("630.00".to_owned(), "1950".to_owned())
    );
    let parcels: Vec<&str> = plans
        .landed
        .as_ref()
        .unwrap()
        .bills
        .iter()
        .map(|bill| bill.id.as_str())
        .collect();
    assert_eq!(parcels, ["Southmoor", "Southmoor/new order"]);
    let change = &plans.changes[0];
    assert_eq!(
        change.after.as_ref().unwrap(),
        &("Light stem".to_owned(), "Southmoor".to_owned())
    );
}

/// A parcel that is called so already is not joined: it may hold something else.
#[test]
fn a_label_that_is_used_already_is_not_taken() {
    let rows = ROWS.replace(
        "option,to-order,Southmoor,50.00,,1,,,70",
        "option,to-order,Southmoor,50.00,,1,,,70\n\
        Other stem,stem,option,to-order,Southmoor,95.00,,1,new order,,60",
    );
    let Planned::Found(plans) = planned(&rows, &[("max_mass_g", "1955")], &Wishes::default())
    else {
        panic!("no plan")
    };
    let parcels: Vec<&str> = plans
        .landed
        .as_ref()
        .unwrap()
        .bills
        .iter()
        .map(|bill| bill.id.as_str())
        .collect();
    assert_eq!(parcels, ["Southmoor", "Southmoor/new order 2"]);
}

/// Whatever is chosen, 500.00 are spent and the saddle's 70.00 too.
#[test]
fn a_budget_used_up_by_what_is_spent_is_said() {
    let used = "the parts that are paid for, given or on their way land at 570.00 GBP: that alone is more than the budget of 560.00 GBP";
    let frontier = Wishes {
        frontier: true,
        ..Wishes::default()
    };
    for (settings, wishes) in [
        (&[("budget", "560.00")][..], Wishes::default()),
        (
            &[("budget", "560.00"), ("max_mass_g", "1960")],
            Wishes::default(),
        ),
        (&[("budget", "560.00")], frontier),
    ] {
        let Planned::Nothing(why) = planned(ROWS, settings, &wishes) else {
            panic!("a plan over the budget")
        };
        assert_eq!(why.reason.notes, [used], "{}", why.reason.message);
    }
    // 600.00 are enough for the build as it stands, and too little for the light stem: that is no matter of what is spent.
    let settings = [("budget", "600.00"), ("max_mass_g", "1960")];
    let Planned::Nothing(why) = planned(ROWS, &settings, &Wishes::default()) else {
        panic!("a plan over the budget")
    };
    assert!(why.reason.notes.is_empty(), "{:?}", why.reason.notes);
}
