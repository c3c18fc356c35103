//! Texts at the edge: characters outside ASCII, line ends of two bytes, the end of the file, long lines, several files.

use serde_json::{Value, json};

use super::client::{Client, edited, position};
use super::{codes, sample};

/// Marks that take one, two and four bytes, and one or two units of UTF-16.
const STRANGE: &str = "\u{1d11e}\u{fc} \u{2014}";

fn strange() -> String {
    format!(
        "design d \"{STRANGE}\" # {STRANGE}\nassume insulation 105 C\nzone engine ambient 60 C\n\
        battery B \"{STRANGE}\" agm 12 V 100 Ah fault 800 A zone engine\nload lamp \"{STRANGE}\" 12 V 36 W zone engine critcal\n"
    )
}

#[test]
fn columns_after_characters_outside_ascii() {
    for capabilities in [json!({}), json!({"general": {"positionEncodings": ["utf-16"]}})] {
        let mut client = Client::with(&[], &capabilities);
        let text = strange();
        let rows = client.open("a.loom", &text);
        let row = rows.iter().find(|row| row["code"] == "language.word").unwrap();
        assert_eq!(client.under("a.loom", &row["range"]), "critcal");
        let params = json!({"textDocument": {"uri": client.uri("a.loom")}, "range": row["range"], "context": {"diagnostics": [row]}});
        let actions = client.request("textDocument/codeAction", &params).unwrap();
        client.apply(&actions[0]["edit"]);
        assert_eq!(client.text("a.loom"), text.replace("critcal", "critical"));
        let rows = client.diagnostics("a.loom");
        assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
        // A name after them: what it is, where it is declared, and another name for it.
        let at = client.at("a.loom", "zone engine critical", 7);
        let hover = client.request("textDocument/hover", &at).unwrap();
        assert!(hover["contents"]["value"].as_str().unwrap().contains("**engine**"), "{hover}");
        assert_eq!(client.under("a.loom", &hover["range"]), "engine");
        let found = client.request("textDocument/definition", &at).unwrap();
        assert_eq!(found["range"]["start"], position(client.text("a.loom"), text.find("engine").unwrap()));
        let mut at = at;
        at["newName"] = json!("bay");
        let edit = client.request("textDocument/rename", &at).unwrap();
        client.apply(&edit);
        assert_eq!(client.text("a.loom"), text.replace("engine", "bay").replace("critcal", "critical"));
        // A word is completed behind them.
        let at = client.at("a.loom", "critical", 4);
        let items = client.request("textDocument/completion", &at).unwrap();
        let item =
            items["items"].as_array().unwrap().iter().find(|item| item["label"] == "critical").unwrap();
        assert_eq!(client.under("a.loom", &item["textEdit"]["range"]), "crit");
        assert_eq!(client.end().code(), Some(0));
    }
}

#[test]
fn columns_count_bytes_where_that_was_agreed_on() {
    let mut client = Client::with(&[], &json!({"general": {"positionEncodings": ["utf-8"]}}));
    let text = strange();
    let rows = client.open("a.loom", &text);
    let row = rows.iter().find(|row| row["code"] == "language.word").unwrap();
    let line = text.lines().nth(4).unwrap();
    assert_eq!(row["range"]["start"], json!({"line": 4, "character": line.find("critcal").unwrap()}));
}

#[test]
fn lines_may_end_in_two_bytes() {
    let text = sample("faults/protection.missing.loom");
    let (mut client, lines) = (Client::new(&[]), text.replace('\n', "\r\n"));
    let plain = client.open("plain.loom", &text);
    let rows = client.open("a.loom", &lines);
    let places = |rows: &[Value]| -> Vec<(Value, Value)> {
        rows.iter().map(|row| (row["range"].clone(), row["message"].clone())).collect()
    };
    assert_eq!(places(&rows), places(&plain));
    let row = rows.iter().find(|row| row["code"] == "protection.missing").unwrap();
    let params = json!({"textDocument": {"uri": client.uri("a.loom")}, "range": row["range"], "context": {"diagnostics": [row]}});
    let actions = client.request("textDocument/codeAction", &params).unwrap();
    for title in ["fit a fuse", "accept "] {
        let found =
            actions.as_array().unwrap().iter().find(|one| one["title"].as_str().unwrap().starts_with(title));
        let edits = &found.unwrap()["edit"]["changes"][client.uri("a.loom")];
        let after = edited(&lines, edits);
        assert_eq!(after.matches('\n').count(), after.matches("\r\n").count(), "{title}: {after:?}");
        assert!(lines.len() < after.len());
    }
    // An edit at the end of a line stands before its end, and a line end may be typed in.
    let at = client.text("a.loom").find("\r\nwire").unwrap();
    client.splice("a.loom", at, at, " critical");
    client.splice("a.loom", at, at, "\r\n");
    client.splice("a.loom", at, at + 2, "");
    let rows = client.diagnostics("a.loom");
    assert!(codes(&rows).contains(&"protection.missing"), "{rows:?}");
    let mut at = client.at("a.loom", "lamp 12 V", 1);
    at["newName"] = json!("light");
    let edit = client.request("textDocument/rename", &at).unwrap();
    client.apply(&edit);
    let wanted = lines.replace("lamp.", "light.").replace("lamp 12 V", "light 12 V");
    assert_eq!(client.text("a.loom").replace(" critical", ""), wanted);
}

#[test]
fn edits_at_the_end_of_a_file() {
    let mut client = Client::new(&[]);
    let text = sample("faults/protection.missing.loom");
    client.open("a.loom", text.trim_end());
    // The waiver of a file without a last line end stands in a line of its own.
    let rows = client.rows("a.loom");
    let row = rows.iter().find(|row| row["code"] == "protection.missing").unwrap();
    let params = json!({"textDocument": {"uri": client.uri("a.loom")}, "range": row["range"], "context": {"diagnostics": [row]}});
    let actions = client.request("textDocument/codeAction", &params).unwrap();
    let accept =
        actions.as_array().unwrap().iter().find(|one| one["title"].as_str().unwrap().starts_with("accept"));
    client.apply(&accept.unwrap()["edit"]);
    let rows = client.diagnostics("a.loom");
    assert_eq!(codes(&rows), [] as [&str; 0], "{}", client.text("a.loom"));
    // To nothing, and back from it letter by letter.
    let length = client.text("a.loom").len();
    client.splice("a.loom", 0, length, "");
    assert_eq!(codes(&client.diagnostics("a.loom")).len(), 1, "a file without a design");
    for letter in "design d \"d\"\nload l 12 V 5 W".chars() {
        let end = client.text("a.loom").len();
        client.splice("a.loom", end, end, &letter.to_string());
        let (end, uri) = (client.text("a.loom").len(), client.uri("a.loom"));
        let at = json!({"textDocument": {"uri": uri}, "position": position(client.text("a.loom"), end)});
        for method in ["completion", "hover", "definition"] {
            client.request(&format!("textDocument/{method}"), &at).unwrap();
        }
    }
    let rows = client.diagnostics("a.loom");
    assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn files_beside_each_other_and_a_closed_one() {
    let mut client = Client::new(&[]);
    let missing = sample("faults/protection.missing.loom");
    let one = client.open("a.loom", &missing);
    let two = client.open("b.loom", &sample("faults/conductor.small.loom"));
    assert!(codes(&one).contains(&"protection.missing") && !codes(&two).contains(&"protection.missing"));
    // A change of one is told of it alone.
    let rows = client.replace("b.loom", "design ", "design  ");
    assert_eq!(codes(&rows), codes(&two));
    assert_eq!(client.told[&client.uri("a.loom")].0, Some(1));
    // A closed file is cleared, the other stays; the file may be opened again, and has its fixes then.
    client.shut("a.loom");
    let uri = client.uri("a.loom");
    client.wait(|row| row["params"]["uri"] == *uri);
    assert_eq!(client.rows("a.loom"), [] as [Value; 0]);
    assert_eq!(codes(&client.rows("b.loom")), codes(&two));
    let at = json!({"textDocument": {"uri": uri}, "position": {"line": 3, "character": 10}});
    assert_eq!(client.request("textDocument/hover", &at), Ok(Value::Null), "it was never saved");
    client.told.remove(&uri);
    let rows = client.open("a.loom", &missing);
    assert_eq!(codes(&rows), codes(&one));
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn a_very_long_line() {
    let mut client = Client::new(&[]);
    let head = "design d \"d\"\nbattery B agm 12 V 100 Ah\n";
    for (length, is_taken) in [(60_000, true), (70_000, false), (2_000_000, false)] {
        let name = format!("{length}.loom");
        let text = format!(
            "{head}note B \"{}\" # {}\nload lamp 12 V 5 W\n",
            "\u{fc}".repeat(length / 2),
            "x".repeat(length)
        );
        let rows = client.open(&name, &text);
        let long: Vec<&str> = codes(&rows).into_iter().filter(|code| code.starts_with("language.")).collect();
        assert_eq!(long.is_empty(), is_taken, "{length}: {long:?}");
        let at = text.find("\" #").unwrap();
        client.splice(&name, at, at, "y");
        let position = position(client.text(&name), at);
        let at = json!({"textDocument": {"uri": client.uri(&name)}, "position": position});
        for method in ["hover", "completion", "definition", "foldingRange", "documentSymbol"] {
            client.request(&format!("textDocument/{method}"), &at).unwrap();
        }
        let at = client.at(&name, "load lamp", 6);
        let hover = client.request("textDocument/hover", &at).unwrap();
        assert_eq!(client.under(&name, &hover["range"]), "lamp");
    }
    assert_eq!(client.end().code(), Some(0));
}
