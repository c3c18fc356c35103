//! Quick fixes on every sample with a fault; new names through kits and files, in files with mistakes too.

use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::client::{Client, edited};
use super::{codes, faults, sample};

/// The quick fixes of one finding: their titles, and the text with each made in it.
fn fixes(client: &mut Client, name: &str, row: &Value) -> Vec<(String, String)> {
    let params = json!({"textDocument": {"uri": client.uri(name)}, "range": row["range"], "context": {"diagnostics": [row]}});
    let actions = client.request("textDocument/codeAction", &params).unwrap();
    let own = actions.as_array().unwrap().iter().filter(|action| action["diagnostics"] == json!([row]));
    let made = |action: &Value| {
        let changes = action["edit"]["changes"].as_object().unwrap();
        let edits = changes
            .get(&client.uri(name))
            .filter(|_| changes.len() == 1)
            .expect("an edit of the file itself");
        (action["title"].as_str().unwrap().to_owned(), edited(client.text(name), edits))
    };
    own.map(made).collect()
}

fn headline(row: &Value) -> (String, String) {
    let message = row["message"].as_str().unwrap().lines().next().unwrap().to_owned();
    (row["code"].as_str().unwrap().to_owned(), message)
}

/// Findings of the severity of errors, by rule and subject.
fn errors(rows: &[Value]) -> Vec<(String, String)> {
    rows.iter().filter(|row| row["severity"] == 1).map(headline).collect()
}

/// A line end in a comment joins nothing, whatever the comment ends with: the statement that is mended is the one that is meant.
#[test]
fn a_comment_that_ends_in_a_backslash_leads_no_fix_astray() {
    let text = "design d \"D\"\nassume insulation 105 C\nbattery b agm 12 V 200 Ah fault 3 kA\n\
        load top 12 V 8 A # per data sheet\\\nfuse F 5 A blade volts 32 V breaks 4 kA\n\
        wire T1 from b.+ to F.line 10 mm2 0.1 m red # see note \\\nwire T2 from F.load to top.+ 1 mm2 2 m red\n\
        wire T3 from top.- to b.- 35 mm2 2 m black\n";
    let mut client = Client::new(&[]);
    let rows = client.open("a.loom", text);
    let row = rows.iter().find(|row| row["code"] == "protection.undersize").unwrap();
    let made = fixes(&mut client, "a.loom", row);
    let (title, mended) = made.iter().find(|fix| fix.0.starts_with("give F ")).unwrap();
    assert_eq!(*mended, text.replace("fuse F 5 A", &title.replace("give F a rating of", "fuse F")));
    let at = client.at("a.loom", "wire T2 from ", 13);
    let names = client.request("textDocument/completion", &at).unwrap();
    assert!(names.to_string().contains("\"top\""), "{names}");
}

/// Who fits the kit gives the rating; a wire back is no thinner than what is fitted asks for.
#[test]
fn a_fix_is_made_only_where_it_holds() {
    let kit = "design d \"D\"\nassume insulation 105 C\nbattery b agm 12 V 200 Ah fault 3 kA\n\
        kit k (p: terminal, m: terminal, r: current) {\n  fuse F $r blade volts 32 V breaks 4 kA\n  load top 12 V 8 A\n\
          bolt F.line to $p\n  wire T2 from F.load to top.+ 10 mm2 2 m red\n  wire T3 from top.- to $m 35 mm2 2 m black\n}\n\
        fit k as a (p = b.+, m = b.-, r = 5 A)\n";
    let mut client = Client::new(&[]);
    let rows = client.open("kit.loom", kit);
    let row = rows.iter().find(|row| row["code"] == "protection.undersize").unwrap();
    let made = fixes(&mut client, "kit.loom", row);
    assert!(made.iter().all(|fix| fix.0.starts_with("accept ")), "{made:#?}");
    let thin = "design d \"D\"\nassume insulation 105 C\nbattery b agm 12 V 200 Ah fault 700 A\nload top 12 V 60 W\n\
        wire T1 from b.+ to top.+ 2.5 mm2 2 m red\nwire T2 from top.- to b.- 1 mm2 2 m black\n";
    let rows = client.open("thin.loom", thin);
    let before = errors(&rows);
    let row = rows.iter().find(|row| row["code"] == "protection.missing").unwrap();
    let made = fixes(&mut client, "thin.loom", row);
    let (title, mended) = made.iter().find(|fix| fix.0.starts_with("fit a fuse of ")).unwrap();
    let after = client.open("mended.loom", mended);
    assert_eq!((before.len(), errors(&after)), (1, vec![]), "{title}:\n{mended}\n{after:#?}");
    assert!(
        mended.contains(
            " A blade\nwire W1 from b.+ to F1.line 2.5 mm2 150 mm red\nwire T1 from F1.load to top.+ "
        ),
        "{mended}"
    );
}

/// No quick fix trades one finding for an error.
#[test]
fn no_quick_fix_of_any_sample_makes_an_error() {
    let mut client = Client::new(&[("lamp-parts.loom", &sample("faults/lamp-parts.loom"))]);
    let (mut wrong, mut n) = (Vec::new(), 0);
    for fault in faults() {
        let name = format!("{fault}.loom");
        let rows = client.open(&name, &sample(&format!("faults/{fault}.loom")));
        let before: BTreeSet<String> = errors(&rows).into_iter().map(|row| row.0).collect();
        for row in &rows {
            for (title, text) in fixes(&mut client, &name, row) {
                n += 1;
                let mended = format!("mended{n}.loom");
                let after = errors(&client.open(&mended, &text));
                let new: Vec<_> = after.iter().filter(|one| !before.contains(&one.0)).collect();
                if !new.is_empty() {
                    wrong.push(format!("{fault}, {} by {title}: {new:?}", row["code"]));
                }
                client.shut(&mended);
            }
        }
        client.shut(&name);
    }
    assert!(100 < n && wrong.is_empty(), "{n}: {wrong:#?}");
}

#[test]
fn every_quick_fix_of_every_fault_mends_what_it_is_for() {
    let mut client = Client::new(&[("lamp-parts.loom", &sample("faults/lamp-parts.loom"))]);
    let mut offered = BTreeSet::new();
    let mut n = 0;
    for fault in faults() {
        let name = format!("{fault}.loom");
        let rows = client.open(&name, &sample(&format!("faults/{fault}.loom")));
        let before: Vec<_> = rows.iter().map(headline).collect();
        for row in rows.iter().filter(|row| row["code"] == *fault) {
            for (title, text) in fixes(&mut client, &name, row) {
                n += 1;
                let mended = format!("mended{n}.loom");
                let after: Vec<_> = client.open(&mended, &text).iter().map(headline).collect();
                let is_gone =
                    |all: &[(String, String)]| all.iter().filter(|one| **one == headline(row)).count();
                assert_eq!(is_gone(&after), is_gone(&before) - 1, "{fault}, {title}:\n{text}\n{after:?}");
                let kind = title.split(' ').next().unwrap();
                let new: Vec<_> = after.iter().filter(|one| !before.contains(one)).collect();
                let language =
                    |one: &&&(String, String)| one.0.starts_with("language.") || one.0.starts_with("waiver.");
                assert_eq!(new.iter().filter(language).count(), 0, "{fault}, {title}: {new:?}\n{text}");
                if kind == "accept" {
                    assert!(new.is_empty(), "{fault}, {title}: {new:?}");
                }
                offered.insert(format!("{fault}: {kind}"));
                client.shut(&mended);
            }
        }
        client.shut(&name);
    }
    for wanted in [
        "protection.missing: fit",
        "protection.oversize: give",
        "protection.oversize: make",
        "protection.undersize: give",
        "conductor.overloaded: make",
        "conductor.drop: make",
        "conductor.small: make",
        "charging.lockout: make",
        "protection.slow: give",
        "protection.slow: make",
        "terminal.size: make",
        "return.undersize: make",
        "bond.undersize: make",
        "language.word: write",
        "language.name: write",
    ] {
        assert!(offered.contains(wanted), "{wanted} among {offered:#?}");
    }
    // Whatever is found in the wiring can be accepted.
    for fault in
        faults().iter().filter(|fault| !fault.starts_with("language.") && !fault.starts_with("waiver."))
    {
        assert!(offered.contains(&format!("{fault}: accept")), "{fault} among {offered:#?}");
    }
}

const LIBRARY: &str = "library lib \"l\"\nkit feed (plus: terminal) {\n  fuse F 5 A blade volts 32 V breaks 1 kA\n  \
    wire W from $plus to F.line 2.5 mm2 0.1 m\n}\n";
const WHOLE: &str = "design b \"b\"\nuse \"lib.loom\"\nbattery B agm 12 V 9 Ah\nload lamp 12 V 5 W\n\
    fit feed as deck (plus = B.+)\nwire W1 from deck/F.load to lamp.+ 2.5 mm2 1 m\nwire W2 from lamp.- to B.- 2.5 mm2 1 m\n";
/// Half a statement, a line of nothing, and a kit that nothing closes.
const BROKEN: &str = "design a \"a\"\nuse \"lib.loom\"\nbattery B agm 12 V 9 Ah\nload lamp 12 V 5 W\n\
    fit feed as cabin (plus = B.+)\nwire W1 from cabin/F.load to lamp.+ 2.5 mm2 1 m\nwire W9 from cabin/F.\n\
    nonsense here\n# one\n# two\nkit half (x: area) {\n  fuse F 3 A\n  wire W from F.li\n";

/// Renames the name at the first place of a text, by some bytes further.
fn rename(client: &mut Client, name: &str, text: &str, further: usize, new: &str) -> Vec<String> {
    let mut at = client.at(name, text, further);
    at["newName"] = json!(new);
    let edit = client.request("textDocument/rename", &at).unwrap_or_else(|error| panic!("{text}: {error}"));
    let uri = client.uri("");
    let names =
        edit["changes"].as_object().unwrap().keys().map(|one| one.strip_prefix(&uri).unwrap().to_owned());
    let mut names: Vec<String> = names.collect();
    names.sort();
    client.apply(&edit);
    names
}

#[test]
fn a_name_in_a_kit_is_renamed_in_every_file_open_or_not_and_broken_or_not() {
    for library_is_open in [false, true] {
        let mut client = Client::new(&[("lib.loom", LIBRARY), ("b.loom", WHOLE)]);
        client.open("a.loom", BROKEN);
        if library_is_open {
            client.open("lib.loom", LIBRARY);
        }
        let text = |client: &Client, name: &str| match client.texts.get(name) {
            Some((_, text)) => text.clone(),
            None => std::fs::read_to_string(client.path(name)).unwrap(),
        };
        // From a use in a design: the kit's own place, and the uses in all files; not the other kit's fuse.
        assert_eq!(
            rename(&mut client, "a.loom", "cabin/F.load", 6, "chief"),
            ["a.loom", "b.loom", "lib.loom"]
        );
        assert_eq!(
            text(&client, "lib.loom"),
            LIBRARY.replace("fuse F", "fuse chief").replace("F.line", "chief.line")
        );
        assert_eq!(text(&client, "b.loom"), WHOLE.replace("deck/F", "deck/chief"));
        assert_eq!(text(&client, "a.loom"), BROKEN.replace("cabin/F", "cabin/chief"));
        // The fit, the kit, and its parameter.
        assert_eq!(rename(&mut client, "a.loom", "as cabin", 4, "saloon"), ["a.loom"]);
        let broken = BROKEN.replace("cabin/F", "saloon/chief").replace("as cabin", "as saloon");
        assert_eq!(text(&client, "a.loom"), broken);
        assert_eq!(
            rename(&mut client, "lib.loom", "kit feed", 5, "supply-kit"),
            ["a.loom", "b.loom", "lib.loom"]
        );
        assert_eq!(rename(&mut client, "lib.loom", "$plus", 2, "hot"), ["a.loom", "b.loom", "lib.loom"]);
        assert!(text(&client, "lib.loom").contains("kit supply-kit (hot: terminal)"));
        assert!(text(&client, "lib.loom").contains("from $hot to chief.line"));
        assert!(text(&client, "b.loom").contains("fit supply-kit as deck (hot = B.+)"));
        assert!(text(&client, "a.loom").contains("fit supply-kit as saloon (hot = B.+)"));
        // The kit that nothing closes has names too.
        assert_eq!(rename(&mut client, "a.loom", "fuse F 3 A", 5, "F3"), ["a.loom"]);
        assert!(
            text(&client, "a.loom").ends_with("fuse F3 3 A\n  wire W from F3.li\n"),
            "{}",
            text(&client, "a.loom")
        );
        let whole = text(&client, "b.loom");
        let rows = client.open("b.loom", &whole);
        assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    }
}

#[test]
fn a_file_with_mistakes_has_references_symbols_and_folds() {
    let mut client = Client::new(&[("lib.loom", LIBRARY), ("b.loom", WHOLE)]);
    client.open("a.loom", BROKEN);
    let mut at = client.at("a.loom", "cabin/F.load", 6);
    at["context"] = json!({"includeDeclaration": true});
    let found = client.request("textDocument/references", &at).unwrap();
    let mut places: Vec<(String, u64)> = found
        .as_array()
        .unwrap()
        .iter()
        .map(|row| {
            let name = row["uri"].as_str().unwrap().rsplit('/').next().unwrap().to_owned();
            (name, row["range"]["start"]["line"].as_u64().unwrap())
        })
        .collect();
    places.sort();
    let wanted = [("a.loom", 5), ("a.loom", 6), ("b.loom", 5), ("lib.loom", 2), ("lib.loom", 3)];
    assert_eq!(places, wanted.map(|row| (row.0.to_owned(), row.1)));
    let document = json!({"textDocument": {"uri": client.uri("a.loom")}});
    let symbols = client.request("textDocument/documentSymbol", &document).unwrap();
    let names: Vec<(&str, Option<&str>)> = symbols
        .as_array()
        .unwrap()
        .iter()
        .map(|row| (row["name"].as_str().unwrap(), row["containerName"].as_str()))
        .collect();
    for name in ["B", "lamp", "cabin", "W1", "W9", "half"] {
        assert!(names.contains(&(name, None)), "{name} among {names:?}");
    }
    for name in ["F", "W"] {
        assert!(names.contains(&(name, Some("half"))), "{name} among {names:?}");
    }
    let folds = client.request("textDocument/foldingRange", &document).unwrap();
    let rows: Vec<(u64, Option<&str>)> = folds
        .as_array()
        .unwrap()
        .iter()
        .map(|fold| (fold["startLine"].as_u64().unwrap(), fold["kind"].as_str()))
        .collect();
    assert_eq!(rows, [(8, Some("comment")), (10, None)], "{folds}");
    // What can be written goes on.
    let end = client.text("a.loom").len() - 1;
    client.splice("a.loom", end, end, "ne ");
    let params = client.at("a.loom", "F.line ", 7);
    let items = client.request("textDocument/completion", &params).unwrap();
    assert!(items["items"].as_array().unwrap().iter().any(|item| item["label"] == "to"), "{items}");
}
