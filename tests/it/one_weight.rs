//! One weight: every command tells a build's mass on the same basis, and treats a reading of unknown basis alike.

use super::harness::landwaiter;

/// What is on the bike and not in its mass is named, with its grams.
#[test]
fn what_the_mass_leaves_out_is_named() {
    let parts = "part,place,price,currency,mass_g\nBar,handlebar,40.00,GBP,250\nPedals,pedals,30.00,GBP,300\n";
    let run = |basis: &str, format: &str| {
        let settings =
            format!("setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\nbasis,{basis}\n");
        let run = landwaiter(&format!("cost b --more --format {format}"))
            .file("b/settings.csv", settings)
            .file("b/parts.csv", parts);
        run.go().ends(0).out
    };
    let out = run("showroom", "table");
    assert!(
        out.contains("Weight 250 g (showroom: no pedals, cages, sealant)"),
        "{out}"
    );
    assert!(
        out.contains("On the bike but not counted on this basis: Pedals, 300 g."),
        "{out}"
    );
    let json: serde_json::Value = serde_json::from_str(&run("ride", "json")).unwrap();
    // 250 + 300 + 810 g, by the tables, of what the rider carries.
    assert_eq!(
        (&json["totals"]["mass_g"], &json["totals"]["rider_g"]),
        (&"1360".into(), &"810".into())
    );
    assert_eq!(
        (&json["totals"]["basis"], &json["totals"]["not_counted"]),
        (&"ride".into(), &serde_json::json!([]))
    );
}

/// `check` asks with the cell, and every command that tells a weight says it.
#[test]
fn a_reading_of_unknown_basis_is_asked_about_by_every_command() {
    let parts = "part,place,price,currency,mass_g\nBar,handlebar,40.00,GBP,250\n";
    for command in ["check", "cost", "compare", "rank", "leeway", "settle"] {
        let run = landwaiter(&format!("{command} b"))
            .file(
                "b/settings.csv",
                "setting,value\ndestination,GB\ndate,2026-03-02\nkind,road\n",
            )
            .file("b/parts.csv", parts)
            .file(
                "b/weighings.csv",
                "what,mass_g,date\nbike,8000,2026-02-20\n",
            );
        let ran = run.go().ends(0);
        let said = format!("{}{}", ran.out, ran.err);
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            said.contains("The weighing of the whole bike is not used: its basis is unknown"),
            "{command}: {said}"
        );
        assert_eq!(
            command == "check",
            said.contains("weighings.csv:2"),
            "{command}: {said}"
        );
    }
}
