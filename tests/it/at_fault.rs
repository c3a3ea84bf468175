//! What was missing or came damaged, after the parcel was received: what `settle` and `return` say of it, and a receipt for a parcel
//! with a label. All of it is bought at home, so that what is claimed is the price: 60.00 for the stem and 45.00 for the post.

use serde_json::Value;

use crate::harness::landwaiter;
use crate::steps::{done, run, tables};

const PARTS: &str = "part,place,standing,seller,parcel,price,currency,dispatch,mass_g\n\
    Bar,handlebar,on-order,Alder Cycle,2026-09-01,120.00,GBP,GB,260\n\
    Stem,stem,on-order,Alder Cycle,2026-09-01,60.00,GBP,GB,120\n\
    Post,seatpost,on-order,Alder Cycle,2026-09-01,45.00,GBP,GB,220\n";
const PARCELS: &str = "seller,parcel,ordered\nAlder Cycle,2026-09-01,2026-09-01\n";
const SETTINGS: &str = "setting,value\ndestination,GB\n";

/// A book with these parts.
fn book(parts: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let at = folder.path().join("book");
    std::fs::create_dir(&at).unwrap();
    for (name, text) in [
        ("parts.csv", parts),
        ("parcels.csv", PARCELS),
        ("settings.csv", SETTINGS),
    ] {
        std::fs::write(at.join(name), text).unwrap();
    }
    folder
}

/// A book whose parcel came without its stem, and with a post that broke on the way.
fn received(parts: &str) -> tempfile::TempDir {
    let folder = book(parts);
    let said = done(
        folder.path(),
        &[
            "receive",
            "Alder Cycle",
            "book",
            "--missing",
            "Stem",
            "--damaged",
            "Post",
            "--date",
            "2026-09-10",
        ],
    );
    assert!(said.contains("claim 60.00 GBP from Alder Cycle"), "{said}");
    folder
}

/// A screen in one line.
fn joined(said: &str) -> String {
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn json(at: &std::path::Path, args: &[&str]) -> Value {
    let (status, out, err) = run(at, &[args, &["--format", "json"]].concat());
    assert_eq!(status, 0, "{err}");
    serde_json::from_str(&out).unwrap()
}

/// For the saddle, 78.00 of duty were taken where 4 % of 200.00 = 8.00 are due: 70.00 too much, which is more than either part. The
/// parts stand first all the same.
#[test]
fn what_did_not_come_whole_is_claimed_first() {
    let saddle = "Saddle,saddle,on-order,Marl Works,,200.00,GBP,TW,200\n";
    let folder = received(&format!("{PARTS}{saddle}"));
    let at = folder.path();
    let settle = ["settle", "book", "--day", "2026-09-20"];
    let duty = "receipts,Marl Works,duty,78.00,GBP,2026-09-12";
    done(at, &[&settle[..], &["--add", duty]].concat());
    let said = joined(&done(at, &settle));
    let stem = said
        .find("60.00 Stem was not in its parcel. Claim it from Alder Cycle; the rules name no last day.")
        .unwrap_or_else(|| panic!("{said}"));
    let post = said
        .find("45.00 Post came damaged. Claim it from Alder Cycle; the rules name no last day.")
        .unwrap_or_else(|| panic!("{said}"));
    let other = said
        .find("70.00 Marl Works, import duty: ")
        .unwrap_or_else(|| panic!("{said}"));
    assert!(stem < post && post < other, "{said}");
    let claims = json(at, &settle)["claims"].clone();
    let claim = |part: &str, standing: &str, owed: &str| serde_json::json!({"part": part, "standing": standing, "seller": "Alder Cycle", "owed": owed, "possible": "0.00", "until": null});
    assert_eq!(
        claims,
        Value::from(vec![
            claim("Stem", "missing", "60.00"),
            claim("Post", "damaged", "45.00")
        ])
    );
    // 60.00 came back for the stem, 15.00 of the 45.00 for the post: 30.00 is left to claim
    for row in ["60.00,GBP,2026-09-18,Stem", "15.00,GBP,2026-09-18,Post"] {
        let row = format!("receipts,Alder Cycle,refund,{row}");
        done(at, &[&settle[..], &["--add", &row]].concat());
    }
    let claims = json(at, &settle)["claims"].clone();
    assert_eq!(claims, Value::from(vec![claim("Post", "damaged", "30.00")]));
}

/// Where all is as ordered, nothing is said.
#[test]
fn what_came_whole_is_not_claimed() {
    let folder = book(PARTS);
    let at = folder.path();
    done(
        at,
        &["receive", "Alder Cycle", "book", "--date", "2026-09-10"],
    );
    let settle = ["settle", "book", "--day", "2026-09-20"];
    assert_eq!(
        json(at, &settle)["claims"],
        Value::from(Vec::<Value>::new())
    );
    assert!(!done(at, &settle).contains("Claim it from"));
}

/// The seller's only parcel has a label: its receipt says so in full, and 12.00 more than nothing were charged.
#[test]
fn a_seller_with_one_parcel_means_that_one() {
    let folder = book(PARTS);
    let at = folder.path();
    let add = "receipts,Alder Cycle,handling,12.00,GBP,2026-10-04";
    let settle = ["settle", "book", "--day", "2026-10-05", "--add", add];
    let said = joined(&done(at, &settle));
    assert!(
        said.starts_with("Added: receipts,Alder Cycle/2026-09-01,handling,12.00,GBP,2026-10-04 Charged 12.00 GBP so far"),
        "{said}"
    );
    assert!(!said.contains("A receipt is"), "{said}");
    let rows = String::from_utf8(tables(at)["receipts.csv"].clone()).unwrap();
    assert_eq!(
        rows,
        "consignment,charge,amount,currency,date\nAlder Cycle/2026-09-01,handling,12.00,GBP,2026-10-04\n"
    );
}

/// With two parcels nobody knows which is meant; one under the seller's own name is that one.
#[test]
fn of_several_parcels_the_receipt_must_name_one() {
    let second = |label: &str| {
        format!("{PARTS}Saddle,saddle,on-order,Alder Cycle,{label},50.00,GBP,GB,200\n")
    };
    let add = "receipts,Alder Cycle,handling,12.00,GBP,2026-10-04";
    let settle = ["settle", "book", "--day", "2026-10-05", "--add", add];
    let folder = book(&second("2026-09-15"));
    let before = tables(folder.path());
    let (status, _, err) = run(folder.path(), &settle);
    assert!(
        status == 1
            && err.contains("`Alder Cycle` has 2 parcels")
            && err.contains("`Alder Cycle/2026-09-01` or `Alder Cycle/2026-09-15`")
            && err.ends_with("Nothing was added.\n"),
        "{status}: {err}"
    );
    assert_eq!(tables(folder.path()), before);
    let folder = book(&second(""));
    let said = joined(&done(folder.path(), &settle));
    assert!(said.starts_with(&format!("Added: {add} Charged")), "{said}");
}

/// A row that was written by hand is not counted, and the reason is the parcel's name, not a price.
#[test]
fn a_receipt_under_another_name_is_said_to_be_so() {
    let said = |parts: &str| {
        let out = landwaiter("settle . --to GB --day 2026-10-05")
            .file("parts.csv", parts)
            .file("parcels.csv", PARCELS)
            .file(
                "receipts.csv",
                "consignment,charge,amount,currency,date\nAlder Cycle,handling,12.00,GBP,2026-10-04\n",
            )
            .go()
            .ends(0)
            .out;
        joined(&out)
    };
    let own = said(PARTS);
    assert!(
        own.contains("A receipt is not counted, as it names the seller, and the seller's parcel has another name: `Alder Cycle/2026-09-01` (Alder Cycle). Write that name as its `consignment` in `receipts.csv`."),
        "{own}"
    );
    assert!(!own.contains("no price"), "{own}");
    // without a price the old reason is the right one
    let none = said(
        "part,place,standing,seller,price,currency,dispatch,mass_g\nBar,handlebar,on-order,Alder Cycle,,GBP,GB,260\n",
    );
    assert!(none.contains("they have no price"), "{none}");
}

/// The stem never came: nothing can be sent back, and its 60.00 are claimed whatever reason is typed.
#[test]
fn what_never_came_is_claimed_and_not_sent_back() {
    let folder = received(PARTS);
    let at = folder.path();
    let back = ["return", "book", "--part", "Stem", "--day", "2026-09-20"];
    for more in [&[][..], &["--reason", "unwanted"][..]] {
        let said = joined(&done(at, &[&back[..], more].concat()));
        assert!(
            said.starts_with(
                "Stem never came: claim 60.00 GBP from Alder Cycle, of the 60.00 it cost."
            ),
            "{said}"
        );
        for not in [
            "back and you lose",
            "sending it back",
            "Keep it",
            "takes it back",
        ] {
            assert!(!said.contains(not), "{not}: {said}");
        }
        assert!(
            said.contains(
                "What to claim 60.00 It was not in its parcel. Claim it from Alder Cycle."
            ),
            "{said}"
        );
    }
    let found = json(at, &back);
    assert_eq!(
        (&found["reason"], &found["fault"], &found["lost"]),
        (&"faulty".into(), &"missing".into(), &"0.00".into())
    );
    assert_eq!(
        found["ways"],
        serde_json::json!([{"what": "claim it", "loses": "0.00", "at_best": null}])
    );
}

/// The post came damaged: the reason is known, and another one counts where it is typed. The bar came whole.
#[test]
fn what_came_damaged_is_faulty_without_being_asked() {
    let folder = received(PARTS);
    let at = folder.path();
    for (part, typed, reason) in [
        ("Post", &[][..], "faulty"),
        ("Post", &["--reason", "unwanted"][..], "unwanted"),
        ("Bar", &[][..], "unwanted"),
        ("Bar", &["--reason", "faulty"][..], "faulty"),
    ] {
        let back = ["return", "book", "--part", part, "--day", "2026-09-20"];
        assert_eq!(
            json(at, &[&back[..], typed].concat())["reason"],
            reason,
            "{part} {typed:?}"
        );
    }
}
