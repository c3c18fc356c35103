//! What the study found stays while one types: it moves with its statement, goes with it, and gives way to what is found anew.

use serde_json::Value;

use super::client::{Client, edited};
use super::{checked, codes, sample, shown};

/// Elements that bring a design over the size that is judged whole at once.
fn many() -> String {
    (0..400).map(|n| format!("load spare{n} 12 V 1 W\n")).collect()
}

const OVERLOADED: &str = "conductor.overloaded";

/// The row of the overloaded wire, if it is told.
fn overloaded(rows: &[Value]) -> Option<&Value> {
    rows.iter().find(|row| row["code"] == OVERLOADED)
}

fn wait(client: &mut Client, told: bool) {
    let uri = client.uri("a.loom");
    client.wait(|row| {
        row["params"]["uri"] == *uri && row["params"]["diagnostics"].to_string().contains(OVERLOADED) == told
    });
}

/// That what is told is what a check finds.
fn is_whole(client: &Client) {
    std::fs::write(client.path("a.loom"), client.text("a.loom")).unwrap();
    assert_eq!(shown(&client.rows("a.loom")), checked(client, "a.loom"));
}

#[test]
fn what_the_study_found_stays_while_one_types() {
    let mut client = Client::new(&[]);
    let first = client.open("a.loom", &(sample("faults/conductor.overloaded.loom") + &many()));
    assert_eq!(overloaded(&first), None, "the study is not waited for");
    wait(&mut client, true);
    is_whole(&client);
    let whole = client.rows("a.loom");

    // Lines come before it: it moves, with the places that explain it.
    client.splice("a.loom", 0, 0, "#\n");
    client.splice("a.loom", 0, 0, "# u\n");
    let rows = client.diagnostics("a.loom");
    assert_eq!(rows.len(), whole.len());
    for (before, after) in whole.iter().zip(&rows) {
        assert_eq!(before["message"], after["message"]);
        let places = |row: &Value| {
            let related = row["relatedInformation"].as_array().cloned().unwrap_or_default();
            let ranges = related.iter().map(|one| one["location"]["range"].clone());
            ranges.chain([row["range"].clone()]).collect::<Vec<_>>()
        };
        for (before, after) in places(before).iter().zip(places(after)) {
            let line = |range: &Value, end: &str| range[end]["line"].as_u64().unwrap();
            assert_eq!(line(&after, "start"), line(before, "start") + 2);
            assert_eq!(client.under("a.loom", &after).len(), {
                let character = |end: &str| before[end]["character"].as_u64().unwrap();
                usize::try_from(character("end") - character("start")).unwrap()
            });
        }
    }
    let range = overloaded(&rows).unwrap()["range"].clone();
    assert_eq!(client.under("a.loom", &range), "W2");

    // Its cause goes in another statement: until the study is done it is told, and then no more.
    let rows = client.replace("a.loom", "load heater 12 V 60 A", "load heater 12 V 20 A");
    assert!(overloaded(&rows).is_some());
    wait(&mut client, false);
    is_whole(&client);
    let rows = client.replace("a.loom", "load heater 12 V 20 A", "load heater 12 V 60 A");
    assert_eq!(overloaded(&rows), None);
    wait(&mut client, true);
    is_whole(&client);

    // Space and comments do not change a statement.
    let rows = client.replace("a.loom", "wire W2 from F.load", "  wire W2  from F.load");
    assert_eq!(client.under("a.loom", &overloaded(&rows).unwrap()["range"]), "W2");
    let rows = client.replace("a.loom", "heater.+ 4 mm2 1 m", "heater.+ 4mm2 1 m # thin");
    assert_eq!(client.under("a.loom", &overloaded(&rows).unwrap()["range"]), "W2");

    // A mistake elsewhere: what was found stays beside it, for as long as the mistake does.
    let rows = client.replace("a.loom", "mode warm", "mdoe warm");
    assert!(codes(&rows).contains(&"language.word") && overloaded(&rows).is_some(), "{rows:?}");
    let rows = client.replace("a.loom", "load spare7 ", "load spare07 ");
    assert!(codes(&rows).contains(&"language.word") && overloaded(&rows).is_some(), "{rows:?}");
    let rows = client.replace("a.loom", "mdoe warm", "mode warm");
    assert!(!codes(&rows).contains(&"language.word") && overloaded(&rows).is_some(), "{rows:?}");

    // Its own statement changes: nobody knows before the study.
    let rows = client.replace("a.loom", "4mm2 1 m", "4 mm2 1.1 m");
    assert_eq!(overloaded(&rows), None);
    wait(&mut client, true);
    is_whole(&client);

    // Its statement goes, with a mistake and without.
    let rows = client.replace("a.loom", "wire W2 from F.load", "# wire W2 from F.load");
    assert_eq!(overloaded(&rows), None);
    let rows = client.replace("a.loom", "mode warm", "mdoe warm");
    assert_eq!(overloaded(&rows), None);
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn a_quick_fix_of_what_stayed_is_made_where_it_stands_now() {
    let mut client = Client::new(&[]);
    client.open("a.loom", &(sample("faults/protection.undersize.loom") + &many()));
    let uri = client.uri("a.loom");
    client.wait(|row| {
        row["params"]["uri"] == *uri
            && row["params"]["diagnostics"].to_string().contains("protection.undersize")
    });
    client.splice("a.loom", 0, 0, "# \u{1d11e}\n\n");
    let rows = client.diagnostics("a.loom");
    let row = rows.iter().find(|row| row["code"] == "protection.undersize").unwrap();
    let params = serde_json::json!({"textDocument": {"uri": uri}, "range": row["range"], "context": {"diagnostics": [row]}});
    let actions = client.request("textDocument/codeAction", &params).unwrap();
    let give =
        actions.as_array().unwrap().iter().find(|one| one["title"].as_str().unwrap().starts_with("give "));
    client.apply(&give.expect("another rating")["edit"]);
    let rows = client.diagnostics("a.loom");
    assert!(!codes(&rows).contains(&"protection.undersize"), "{rows:?}");
}

#[test]
fn what_stood_in_a_fit_goes_with_it() {
    let kit = "design d \"d\"\nassume insulation 105 C\n\
        battery B agm 12 V 200 Ah fault 3 kA full 14.7 V discharge 120 A charge 60 A\n\
        kit feed (plus: terminal, minus: terminal) {\n  load heater 12 V 60 A\n\
        \x20 fuse F 40 A bolt-in volts 32 V breaks 4 kA\n  wire W1 from $plus to F.line 25 mm2 0.1 m\n\
        \x20 wire W2 from F.load to heater.+ 4 mm2 1 m\n  wire W3 from heater.- to $minus 25 mm2 1 m\n}\n";
    let fit = "fit feed as cabin (plus = B.+, minus = B.-)\nmode warm \"on\" {\n  cabin/heater on\n}\n";
    let mut client = Client::new(&[]);
    client.open("a.loom", &format!("{kit}{}{fit}", many()));
    wait(&mut client, true);
    // Another fit leaves it; without its own it goes, though the kit's lines are as they were.
    let at = client.text("a.loom").find("fit feed").unwrap();
    client.splice("a.loom", at, at, "fit feed as galley (plus = B.+, minus = B.-)\n");
    let rows = client.diagnostics("a.loom");
    assert!(overloaded(&rows).is_some());
    let at = client.text("a.loom").find("fit feed as cabin").unwrap();
    let end = client.text("a.loom").len();
    client.splice("a.loom", at, end, "");
    let rows = client.diagnostics("a.loom");
    assert_eq!(codes(&rows).iter().filter(|code| code.starts_with("language.")).count(), 0, "{rows:?}");
    assert_eq!(overloaded(&rows), None);
}

#[test]
fn a_mistake_hides_nothing_that_was_found_elsewhere() {
    let mut client = Client::new(&[]);
    let text = sample("faults/protection.missing.loom");
    client.open("a.loom", &text);
    // A statement is typed below, letter by letter.
    let typed = "fuse F2 5 A blade volts 32 V breaks 1 kA\n";
    let mut n_broken = 0;
    for letter in typed.chars() {
        let end = client.text("a.loom").len();
        client.splice("a.loom", end, end, &letter.to_string());
        let rows = client.diagnostics("a.loom");
        n_broken += usize::from(codes(&rows).iter().any(|code| code.starts_with("language.")));
        let missing = rows.iter().find(|row| row["code"] == "protection.missing").expect("it stays");
        assert_eq!(client.under("a.loom", &missing["range"]), "W1");
    }
    assert!(4 < n_broken, "{n_broken}");
    // The statement itself is broken: then of it only that.
    let rows = client.replace("a.loom", "wire W1 from", "wire W1 form");
    let codes_now = codes(&rows);
    assert!(codes_now.contains(&"language.word") && !codes_now.contains(&"protection.missing"), "{rows:?}");
    // A file that was never whole has nothing to keep.
    let rows = client.open("b.loom", &edited(&text, &serde_json::json!([])).replace("lamp.+", "lmap.+"));
    assert!(codes(&rows).iter().all(|code| code.starts_with("language.")), "{rows:?}");
}
