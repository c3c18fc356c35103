//! The standard form, as an editor asks for it.

use std::io::Write as _;
use std::process::{Command, Stdio};

use serde_json::{Value, json};

use super::client::{Client, edited, offset};
use super::sample;

/// What `ohmward tidy -` makes of a text in the client's folder.
fn tidied(client: &Client, text: &str) -> Option<String> {
    let mut child = Command::new(env!("CARGO_BIN_EXE_ohmward"))
        .args(["tidy", "-"])
        .current_dir(client.folder())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    output.status.success().then(|| String::from_utf8(output.stdout).unwrap())
}

fn format(client: &mut Client, name: &str) -> Value {
    let options = json!({"tabSize": 8, "insertSpaces": false});
    let params = json!({"textDocument": {"uri": client.uri(name)}, "options": options});
    client.request("textDocument/formatting", &params).unwrap()
}

/// The same words with other space: none of it in texts or comments.
fn scrambled(text: &str) -> String {
    let line = |(n, line): (usize, &str)| {
        if line.contains('"') || line.contains('#') {
            return format!("\t{line}   \n\n\n");
        }
        let words: Vec<&str> = line.split_whitespace().collect();
        format!("{}{}\n", " ".repeat(n % 5), words.join(["  ", "\t", " ", " \\\n  "][n % 4]))
    };
    text.lines().enumerate().map(line).collect()
}

#[test]
fn edits_give_the_standard_form() {
    let mut client = Client::new(&[]);
    let wagtail = sample("wagtail.loom");
    let strange = format!(
        "# \u{1d11e} \u{fc}\n{wagtail}\nnote house   \"\u{1d11e} \u{fc}  x\"     # \u{1d11e}  y\nset house   word   \"\u{fc}\"  \n"
    );
    let clinic = sample("travelling-clinic.loom");
    let texts = [
        wagtail.clone(),
        scrambled(&wagtail),
        scrambled(&wagtail).replace('\n', "\r\n"),
        wagtail.trim_end().to_owned(),
        format!("\u{feff}{wagtail}"),
        scrambled(&strange),
        strange,
        // The number of a line follows the line: the one word that changes.
        "design d \"t\"\n\n\n\nbattery b agm 12 V 9 Ah\nload l 1 A\nbolt b.+ to l.+\n\
            waive return.bypass on line:7 because \"w\" until 2099-01-01\n"
            .to_owned(),
        scrambled(&clinic),
        scrambled(&sample("parts.loom")),
    ];
    for (n, text) in texts.iter().enumerate() {
        let name = format!("{n}.loom");
        let wanted = tidied(&client, text).unwrap_or_else(|| panic!("{n} is not in the language"));
        client.open(&name, text);
        let before = client.rows(&name).len();
        let edits = format(&mut client, &name);
        // Space alone is edited: what a range covers, and what comes for it.
        for edit in edits.as_array().unwrap() {
            let is_number = |one: char| text.contains("line:7") && one.is_ascii_digit();
            let is_gap =
                |one: char| one.is_whitespace() || matches!(one, '\\' | '\u{feff}') || is_number(one);
            let blank = |text: &str| text.chars().all(is_gap);
            let covered = client.under(&name, &edit["range"]);
            assert!(blank(covered) && blank(edit["newText"].as_str().unwrap()), "{n}: {edit} at {covered:?}");
            assert_ne!(covered, edit["newText"], "{n}");
        }
        assert_eq!(edited(text, &edits), wanted, "{n}");
        client.edit(&name, &edits);
        assert_eq!(client.text(&name), wanted, "{n}");
        assert_eq!(format(&mut client, &name), json!([]), "{n} again");
        if client.texts[&name].0 > 1 {
            assert_eq!(client.diagnostics(&name).len(), before, "{n}");
        }
    }
}

#[test]
fn one_place_is_one_edit() {
    let mut client = Client::new(&[]);
    let text = tidied(&client, &sample("wagtail.loom")).unwrap();
    let at = text.find("\nbattery").unwrap() + "\nbattery".len();
    client.open("a.loom", &format!("{} {}", &text[..at], &text[at..]));
    let edits = format(&mut client, "a.loom");
    let [edit] = edits.as_array().unwrap().as_slice() else { panic!("{edits}") };
    assert_eq!(offset(client.text("a.loom"), &edit["range"]["start"]), at);
    client.edit("a.loom", &edits);
    assert_eq!(client.text("a.loom"), text);
}

#[test]
fn a_file_with_mistakes_is_left_as_it_is_and_the_client_told_why() {
    let mut client = Client::new(&[("bad.loom", "library bad \"b\"\npart p is fsue 5 A\n")]);
    let good = sample("wagtail.loom");
    let line = good.lines().count() + 1;
    let cases = [
        (format!("{good}batery   b\n"), format!("line {line} is not in the language: ")),
        (format!("{good}kit   k (a: area) {{\n"), format!("line {line} is not in the language: ")),
        (format!("{good}use   \"bad.loom\"\n"), "line 2 of ".to_owned()),
    ];
    for (n, (text, why)) in cases.iter().enumerate() {
        let name = format!("{n}.loom");
        assert_eq!(tidied(&client, text), None);
        client.open(&name, text);
        let params = json!({"textDocument": {"uri": client.uri(&name)}, "options": {"tabSize": 2, "insertSpaces": true}});
        let id = client.ask("textDocument/formatting", &params);
        let said = client.wait(|row| row["method"] == "window/showMessage");
        let said = said["params"]["message"].as_str().unwrap().to_owned();
        assert!(said.contains(&name) && said.contains(" is left as it is: ") && said.contains(why), "{said}");
        assert_eq!(client.answer(&json!(id)), Ok(json!([])));
    }
    // A rule book has no standard form, and nothing is said of it.
    client.open("book.toml", "title  =  \"t\"\n");
    assert_eq!(format(&mut client, "book.toml"), Value::Null);
}
