//! What an editor asks: each answer on the samples.

use serde_json::{Value, json};

use super::client::{Client, offset, squeezed};
use super::{codes, sample};

/// The texts that the ranges of some locations or edits cover, with their files.
fn covered(client: &Client, rows: &Value) -> Vec<(String, String)> {
    let rows = rows.as_array().expect("a list");
    let mut all: Vec<_> = rows
        .iter()
        .map(|row| {
            let uri = row["uri"].as_str().unwrap();
            let name = uri.rsplit('/').next().unwrap().to_owned();
            let text = match client.texts.get(&name) {
                Some((_, text)) => text.clone(),
                None => std::fs::read_to_string(client.path(&name)).unwrap(),
            };
            let [from, to] = ["start", "end"].map(|key| offset(&text, &row["range"][key]));
            let line = text[..from].matches('\n').count() + 1;
            (format!("{name}:{line}"), text[from..to].to_owned())
        })
        .collect();
    all.sort();
    all
}

fn hover(client: &mut Client, name: &str, text: &str, further: usize) -> String {
    let at = client.at(name, text, further);
    let result = client.request("textDocument/hover", &at).unwrap();
    result["contents"]["value"].as_str().unwrap_or("").to_owned()
}

fn labels(client: &mut Client, name: &str, text: &str, further: usize) -> Vec<String> {
    let at = client.at(name, text, further);
    let result = client.request("textDocument/completion", &at).unwrap();
    let items = result["items"].as_array().cloned().unwrap_or_default();
    items.iter().map(|item| item["label"].as_str().unwrap().to_owned()).collect()
}

fn trailer() -> Client {
    let mut client = Client::new(&[
        ("trailer.loom", &sample("cabin-trailer.loom")),
        ("parts.loom", &sample("parts.loom")),
    ]);
    assert_eq!(client.open_disk("trailer.loom"), [] as [Value; 0]);
    client
}

#[test]
fn hovers_say_figures() {
    let mut client = Client::new(&[("a.loom", &sample("wagtail.loom"))]);
    client.open_disk("a.loom");
    let wire = hover(&mut client, "a.loom", "wire W13", 6);
    for part in
        ["**W13**: one conductor", "ampacity **", "let-through: 8 A", "protected by F4", "carries", "drop"]
    {
        assert!(wire.contains(part), "{part} in:\n{wire}");
    }
    let battery = hover(&mut client, "a.loom", "house.+", 6);
    for part in ["**house**: a battery", "fault 5 kA", "prospective current at house.+: "] {
        assert!(battery.contains(part), "{part} in:\n{battery}");
    }
    let expected = [
        ("battery crank", 2, "**battery**: a battery"),
        ("critical", 1, "tighter limit"),
        ("14.2 V", 5, "a voltage"),
        ("80 Ah", 3, "a capacity"),
        ("sheathed", 2, "inside a conduit"),
        ("mode parked", 1, "an operating state"),
    ];
    for (text, further, part) in expected {
        let said = hover(&mut client, "a.loom", text, further);
        assert!(said.contains(part), "{part} for {text} in:\n{said}");
    }
    // With a mistake in the language there are no figures, and a word for it.
    client.replace("a.loom", "4 mm2 5 m ", "4 mm3 5 m ");
    let wire = hover(&mut client, "a.loom", "wire W13", 6);
    assert!(wire.contains("no mistake in its language") && !wire.contains("ampacity"), "{wire}");
}

#[test]
fn hovers_lead_through_kits_and_say_rules_and_limits() {
    let mut client = trailer();
    let fuse = hover(&mut client, "trailer.loom", "FO = main-fuse-small", 0);
    assert!(
        fuse.contains("*roof/FO*") && fuse.contains("*awning/FO*") && fuse.contains("part main-fuse-small"),
        "{fuse}"
    );
    let part = hover(&mut client, "trailer.loom", "= lithium-48-large", 4);
    assert!(part.contains("part, a battery"), "{part}");
    let text = sample("faults/protection.missing.loom")
        + "limit distance.battery-bare 150 mm because \"so\"\nwaive protection.missing on W1 because \"so\" until 2099-01-01\n";
    client.open("a.loom", &text);
    let limit = hover(&mut client, "a.loom", "distance.battery-bare", 3);
    assert!(limit.contains("150 mm") && limit.contains("because so"), "{limit}");
    let rule = hover(&mut client, "a.loom", "protection.missing on", 3);
    assert!(rule.contains("**protection.missing** (error)"), "{rule}");
}

#[test]
fn completes_what_is_valid_there() {
    let mut client = trailer();
    let cases: &[(&str, &[&str], &[&str])] = &[
        ("battery B1 = ^", &["lithium-48-large"], &["main-fuse", "house"]),
        ("battery B1 ^", &["lifepo4", "fault", "zone"], &["sheathed", "breaks"]),
        ("fuse F99 5 A bl^", &["blade", "class-t", "on"], &["lifepo4"]),
        ("wire W99 from house.^", &["+", "-", "data"], &["line"]),
        ("wire W99 from ho^", &["house", "plus-48", "roof"], &["sunny", "main-fuse"]),
        ("wire W99 from roof/^", &["FO"], &["house"]),
        ("wire W99 from roof/FO.^", &["line", "load"], &["+"]),
        ("wire W99 from house.+ ^", &["to"], &["from"]),
        ("wire W99 from house.+ to house.- 4 mm2 1 m ^", &["red", "sheathed", "ends"], &["fault"]),
        ("wire W99 from house.+ to house.- 4 ^", &["mm2", "AWG"], &["red"]),
        ("waive protection.^", &["protection.missing", "protection.oversize"], &["house"]),
        ("waive ^", &["protection.missing", "return.bypass"], &["house"]),
        ("limit ^", &["distance.battery-bare"], &["house"]),
        ("book ^", &["common-practice"], &["house"]),
        ("expect tally reads 3 A within 1 A in ^", &["sunny", "towed"], &["house"]),
        ("fit sun^", &["sun-feed"], &["house"]),
        ("fit sun-feed as third (^", &["plus", "run"], &["house"]),
        ("ba^", &["battery", "wire", "mode"], &["library"]),
        ("mode m {\n  ^", &["house"], &["wire"]),
        ("mode m {\n  house ^", &["on", "off"], &["house"]),
        ("part p is fuse 5 A {\n  terminal ^", &["line", "load"], &["house"]),
        ("kit k (a: ^", &["terminal", "area"], &["house"]),
        ("kit k (feed: terminal) {\n  wire W from $^", &["feed"], &["house"]),
        ("# a comment ho^", &[], &["house"]),
        ("note house \"a text ho^", &[], &["house"]),
    ];
    let whole = client.text("trailer.loom").to_owned();
    for (typed, with, without) in cases {
        let (before, after) = typed.split_once('^').unwrap();
        assert_eq!(after, "");
        let length = client.text("trailer.loom").len();
        client.splice("trailer.loom", 0, length, &format!("{whole}\n{before}"));
        let end = client.text("trailer.loom").len();
        let found = labels_at(&mut client, end);
        for label in *with {
            // After a dot only what follows it is written.
            assert!(
                found.iter().any(|one| one == label || one.ends_with(&format!(".{label}"))),
                "{label} for {typed}: {found:?}"
            );
        }
        for label in *without {
            assert!(!found.iter().any(|one| one == label), "{label} for {typed}: {found:?}");
        }
    }
}

fn labels_at(client: &mut Client, end: usize) -> Vec<String> {
    let position = super::client::position(client.text("trailer.loom"), end);
    let at = json!({"textDocument": {"uri": client.uri("trailer.loom")}, "position": position});
    let result = client.request("textDocument/completion", &at).unwrap();
    let items = result["items"].as_array().cloned().unwrap_or_default();
    items.iter().map(|item| item["label"].as_str().unwrap().to_owned()).collect()
}

#[test]
fn completion_replaces_what_is_written_of_a_word() {
    let mut client = Client::new(&[]);
    client.open("a.loom", "design d \"d\"\nbar plus-bar M8 x 6\nwire W1 from plus-b");
    let at = client.at("a.loom", "plus-b\u{0}".trim_end_matches('\u{0}'), 0);
    let mut at = at;
    at["position"] = json!({"line": 2, "character": 19});
    let result = client.request("textDocument/completion", &at).unwrap();
    let item =
        result["items"].as_array().unwrap().iter().find(|item| item["label"] == "plus-bar").unwrap().clone();
    let range = json!({"start": {"line": 2, "character": 13}, "end": {"line": 2, "character": 19}});
    assert_eq!(item["textEdit"], json!({"range": range, "newText": "plus-bar"}));
    assert!(labels(&mut client, "a.loom", "wire W1", 0).contains(&"battery".to_owned()));
}

#[test]
fn definitions_and_references_go_through_files_and_kits() {
    let mut client = trailer();
    let at = client.at("trailer.loom", "= lithium-48-large", 4);
    let found = client.request("textDocument/definition", &at).unwrap();
    let [(place, text)] = covered(&client, &json!([found])).try_into().unwrap();
    assert!(place.starts_with("parts.loom:") && text == "lithium-48-large", "{place} {text}");
    let at = client.at("trailer.loom", "use \"parts", 7);
    let found = client.request("textDocument/definition", &at).unwrap();
    assert_eq!(found["uri"], client.uri("parts.loom"));
    let mut at = client.at("trailer.loom", "FO = main", 1);
    at["context"] = json!({"includeDeclaration": true});
    let found = client.request("textDocument/references", &at).unwrap();
    let found = covered(&client, &found);
    assert!(2 <= found.len() && found.iter().all(|row| row.1 == "FO"), "{found:?}");
    // A part of the library, asked for in the library itself, which is not open.
    let mut at = client.at("parts.loom", "part main-fuse-small", 6);
    at["context"] = json!({"includeDeclaration": false});
    let found = client.request("textDocument/references", &at).unwrap();
    let found = covered(&client, &found);
    assert!(found.iter().any(|row| row.0.starts_with("trailer.loom")), "{found:?}");
    assert!(found.iter().all(|row| row.1 == "main-fuse-small"), "{found:?}");
}

#[test]
fn renames_in_every_file_and_refuses_what_is_no_name() {
    let mut client = trailer();
    client.open_disk("parts.loom");
    let before = client.told[&client.uri("trailer.loom")].1.clone();
    let mut at = client.at("trailer.loom", "= main-fuse 200", 3);
    assert_eq!(client.request("textDocument/prepareRename", &at).unwrap()["placeholder"], "main-fuse");
    at["newName"] = json!("the-fuse");
    let edit = client.request("textDocument/rename", &at).unwrap();
    assert_eq!(edit["changes"].as_object().unwrap().len(), 2);
    client.apply(&edit);
    assert_eq!(client.diagnostics("trailer.loom"), before);
    assert!(client.diagnostics("parts.loom").is_empty());
    assert!(squeezed(client.text("parts.loom")).contains("part the-fuse is fuse"));
    assert!(squeezed(client.text("trailer.loom")).contains("= the-fuse 200 A"));
    for (name, part) in [
        ("wire", "a word of the language"),
        ("9x", "is not a name"),
        ("", "is not a name"),
        ("a b", "is not a name"),
        ("main-fuse-small", "is taken"),
    ] {
        let mut at = client.at("trailer.loom", "= the-fuse 200", 3);
        at["newName"] = json!(name);
        let error = client.request("textDocument/rename", &at).unwrap_err();
        assert!(error["message"].as_str().unwrap().contains(part), "{name}: {error}");
    }
    let mut at = client.at("trailer.loom", "house.+", 6);
    at["newName"] = json!("x");
    assert!(
        client.request("textDocument/rename", &at).unwrap_err()["message"]
            .as_str()
            .unwrap()
            .contains("terminal")
    );
    // A parameter of a kit, with every place that gives it a value.
    let mut at = client.at("trailer.loom", "kit sun-feed (plus", 15);
    at["newName"] = json!("feed");
    let edit = client.request("textDocument/rename", &at).unwrap();
    client.apply(&edit);
    assert_eq!(client.diagnostics("trailer.loom"), before, "{}", client.text("trailer.loom"));
    assert!(squeezed(client.text("trailer.loom")).contains("fit sun-feed as roof (feed = "));
}

#[test]
fn every_name_of_every_sample_can_be_renamed_and_nothing_else_changes() {
    for name in ["wagtail.loom", "travelling-clinic.loom"] {
        let capabilities =
            json!({"textDocument": {"documentSymbol": {"hierarchicalDocumentSymbolSupport": true}}});
        let mut client = Client::with(&[], &capabilities);
        client.open(name, &sample(name));
        let uri = client.uri(name);
        let document = json!({"textDocument": {"uri": uri}});
        let symbols = client.request("textDocument/documentSymbol", &document).unwrap();
        let rows = symbols.as_array().unwrap();
        assert!(20 < rows.len());
        let inside = rows.iter().flat_map(|row| row["children"].as_array().into_iter().flatten());
        for row in rows.iter().chain(inside).step_by(7) {
            let (old, text) = (row["name"].as_str().unwrap(), client.text(name).to_owned());
            let mut params =
                json!({"textDocument": {"uri": uri}, "position": row["selectionRange"]["start"]});
            params["newName"] = json!(format!("{old}-renamed"));
            let edit = client.request("textDocument/rename", &params).unwrap();
            client.apply(&edit);
            let rows = client.diagnostics(name);
            assert_eq!(rows, [] as [Value; 0], "{old} in {name}");
            let length = client.text(name).len();
            client.splice(name, 0, length, &text);
        }
    }
}

#[test]
fn symbols_and_folds_show_the_blocks() {
    let capabilities =
        json!({"textDocument": {"documentSymbol": {"hierarchicalDocumentSymbolSupport": true}}});
    let mut client = Client::with(&[("parts.loom", &sample("parts.loom"))], &capabilities);
    client.open("trailer.loom", &sample("cabin-trailer.loom"));
    let document = json!({"textDocument": {"uri": client.uri("trailer.loom")}});
    let symbols = client.request("textDocument/documentSymbol", &document).unwrap();
    let rows = symbols.as_array().unwrap();
    assert_eq!(rows[0]["detail"].as_str().map(|title| !title.is_empty()), Some(true), "{}", rows[0]);
    let kit = rows.iter().find(|row| row["name"] == "sun-feed").unwrap();
    assert!(kit["children"].as_array().unwrap().iter().any(|row| row["name"] == "FO"));
    let folds = client.request("textDocument/foldingRange", &document).unwrap();
    let text = client.text("trailer.loom");
    let lines: Vec<&str> = text.lines().collect();
    let blocks: Vec<(usize, usize)> = folds
        .as_array()
        .unwrap()
        .iter()
        .filter(|fold| fold.get("kind").is_none())
        .map(|fold| ["startLine", "endLine"].map(|key| fold[key].as_u64().unwrap() as usize).into())
        .collect();
    let opened = lines.iter().filter(|line| line.ends_with('{')).count();
    assert_eq!(blocks.len(), opened);
    for (start, end) in blocks {
        assert!(lines[start].ends_with('{') && lines[end + 1].starts_with('}'), "{start} to {end}");
    }
}

/// The edit of the first quick fix whose title begins so.
fn fix(client: &mut Client, name: &str, code: &str, title: &str) -> Value {
    let rows = client.told[&client.uri(name)].1.clone();
    let row = rows.iter().find(|row| row["code"] == code).unwrap_or_else(|| panic!("{code} in {rows:?}"));
    let params = json!({"textDocument": {"uri": client.uri(name)}, "range": row["range"], "context": {"diagnostics": [row]}});
    let actions = client.request("textDocument/codeAction", &params).unwrap();
    let actions = actions.as_array().unwrap();
    let found = actions.iter().find(|action| action["title"].as_str().unwrap().starts_with(title));
    let action = found.unwrap_or_else(|| panic!("{title} among {actions:?}"));
    assert_eq!((&action["kind"], &action["diagnostics"]), (&json!("quickfix"), &json!([row])));
    action["edit"].clone()
}

#[test]
fn quick_fixes_mend_what_was_found() {
    let cases = [
        ("protection.missing", "fit a fuse of "),
        ("protection.oversize", "give "),
        ("protection.oversize", "make W"),
        ("protection.undersize", "give "),
        ("return.undersize", "make W"),
        ("bond.undersize", "make W"),
        ("conductor.small", "make W"),
        ("language.word", "write `"),
        ("protection.missing", "accept protection.missing on "),
        ("terminal.hole", "accept terminal.hole on "),
    ];
    for (code, title) in cases {
        let mut client = Client::new(&[]);
        let text = match code {
            "language.word" => sample("faults/protection.missing.mended.loom").replace("fuse ", "fsue "),
            _ => sample(&format!("faults/{code}.loom")),
        };
        let rows = client.open("a.loom", &text);
        let n = codes(&rows).iter().filter(|one| **one == code).count();
        let edit = fix(&mut client, "a.loom", code, title);
        client.apply(&edit);
        let rows = client.diagnostics("a.loom");
        let left = codes(&rows).iter().filter(|one| **one == code).count();
        assert_eq!(left, n - 1, "{code} by {title}:\n{}\n{rows:?}", client.text("a.loom"));
        assert!(
            !codes(&rows).iter().any(|one| one.starts_with("language.")),
            "{rows:?}\n{}",
            client.text("a.loom")
        );
    }
}

#[test]
fn edits_carry_versions_where_the_client_takes_them() {
    let capabilities = json!({"workspace": {"workspaceEdit": {"documentChanges": true}}});
    let mut client = Client::with(&[], &capabilities);
    client.open("a.loom", &sample("wagtail.loom"));
    client.replace("a.loom", "# ", "#  ");
    let mut at = client.at("a.loom", "battery house", 9);
    at["newName"] = json!("cabin");
    let edit = client.request("textDocument/rename", &at).unwrap();
    let document = &edit["documentChanges"][0]["textDocument"];
    assert_eq!(document, &json!({"uri": client.uri("a.loom"), "version": 2}));
}

#[test]
fn what_is_open_goes_before_the_disk() {
    let mut client = Client::new(&[("parts.loom", "library parts \"empty\"\n")]);
    let text = "design d \"d\"\nuse \"parts.loom\"\nuse \"new.loom\"\nfuse F1 = thick\nfuse F2 = thin\n";
    let rows = client.open("a.loom", text);
    assert!(codes(&rows).contains(&"language.use"), "{rows:?}");
    // A library that is open and was never saved, and one that is open otherwise than it was saved.
    client.open("new.loom", "library new \"new\"\npart thin is fuse 5 A blade\n");
    client.open("parts.loom", "library parts \"open\"\npart thick is fuse 50 A bolt-in\n");
    let uri = client.uri("a.loom");
    let rows = client.told[&uri].1.clone();
    assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    // What is wrong in the library is told of the library, once, though the design says it too.
    client.replace("parts.loom", "50 A", "50 V");
    let rows = client.told[&client.uri("parts.loom")].1.clone();
    assert_eq!(rows.len(), 1, "{rows:?}");
    let library = client.uri("parts.loom");
    client.notify("textDocument/didClose", &json!({"textDocument": {"uri": library}}));
    client.wait(|row| {
        row["params"]["uri"] == *uri && row["params"]["diagnostics"].to_string().contains("`thick`")
    });
}

#[test]
fn a_saved_library_is_seen_and_files_are_watched() {
    let capabilities = json!({"workspace": {"didChangeWatchedFiles": {"dynamicRegistration": true}}});
    let mut client = Client::with(&[("parts.loom", "library parts \"empty\"\n")], &capabilities);
    client.wait(|row| row["method"] == "client/registerCapability");
    client.open("a.loom", "design d \"d\"\nuse \"parts.loom\"\nfuse F1 = thick\n");
    std::fs::write(client.path("parts.loom"), "library parts \"new\"\npart thick is fuse 50 A bolt-in\n")
        .unwrap();
    let uri = client.uri("a.loom");
    let changed = json!({"changes": [{"uri": client.uri("parts.loom"), "type": 2}]});
    client.notify("workspace/didChangeWatchedFiles", &changed);
    client.wait(|row| {
        row["params"]["uri"] == *uri && !row["params"]["diagnostics"].to_string().contains("language.")
    });
}
