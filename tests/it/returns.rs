//! Keep it or send it back: what comes back adds up, rows of the tables decide, dates are the tables'.

/// Where nothing was found, both commands say so; where something was, neither does.
#[test]
fn a_destination_without_rules_of_refunds_says_so() {
    let parts = "part,place,standing,seller,price,currency,dispatch,freight,mass_g,paid\nBar,handlebar,on-order,Alder Cycle,320.00,USD,TW,18.00,260,338.00\n";
    let parcels = "seller,parcel,ordered,arrived\nAlder Cycle,,2026-09-01,2026-09-10\n";
    let said = |command: &str, to: &str| {
        let asked = format!("{command} . --to {to} --on 2026-09-23 --day 2026-10-20");
        let out = crate::harness::landwaiter(&asked)
            .file("parts.csv", parts)
            .file("parcels.csv", parcels)
            .go()
            .ends(0)
            .out;
        out.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    for (to, known) in [
        ("GB", true),
        ("DE", true),
        ("NO", true),
        ("CA-ON", true),
        ("NZ", true),
        ("AU", false),
        ("JP", false),
        ("CH", false),
    ] {
        assert_eq!(
            said("return --part Bar", to).contains("unknown which charges this country refunds"),
            !known,
            "{to}"
        );
        assert_eq!(
            said("settle", to).contains("unknown which charges this country refunds"),
            !known,
            "{to}"
        );
    }
}
