//! Random edits: whatever the way to a text, what is told of it is what a check tells.

use serde_json::{Value, json};

use super::client::Client;
use super::{checked, sample, shown};

/// A small generator of our own, so that a failure can be repeated.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % n.max(1) as u64).unwrap()
    }
}

const PIECES: &[&str] = &[
    "",
    "\n",
    "}",
    "{",
    "#",
    "\"",
    "\\\n",
    " 4 mm2",
    "wire",
    "red",
    "fuse F9 30 A blade volts 32 V breaks 1 kA\n",
    "wire W99 from house.+ to lights.+ 1 mm2 1 m\n",
    "mode extra {\n  house 13 V\n}\n",
    ".",
    "+",
    "0",
    "\r\n",
    "$",
    "kit k (a: area) {\n",
    "part p is fuse 5 A blade\n",
    "use \"parts.loom\"\n",
    "bolt house.+ to house.-\n",
    "  ",
];

fn is_language(row: &Value) -> bool {
    row["code"].as_str().unwrap().starts_with("language.")
}

/// What is told of the file, each with the words that it points at, without space.
fn words(client: &Client) -> Vec<(String, String)> {
    let blank = |one: char| one.is_whitespace() || one == '\\';
    let pair = |row: &Value| {
        let told = format!("{}: {}", row["code"].as_str().unwrap(), row["message"].as_str().unwrap());
        (told, client.under("a.loom", &row["range"]).replace(blank, ""))
    };
    client.rows("a.loom").iter().map(pair).collect()
}

#[test]
fn edits_lead_to_what_a_check_finds() {
    let ascii: String = sample("wagtail.loom").chars().filter(char::is_ascii).collect();
    for seed in 1..=6 {
        let mut dice = Dice(0x9e37_79b9_7f4a_7c15 ^ (seed << 20));
        let mut client = Client::new(&[("a.loom", ""), ("parts.loom", &sample("parts.loom"))]);
        client.open("a.loom", &ascii);
        // What was told when the language last had no mistake, and the words that each of it points at.
        let mut whole = words(&client);
        for step in 0..30 {
            let length = client.text("a.loom").len();
            let from = dice.below(length + 1);
            let to = (from + [0, 0, 1, 3, 40][dice.below(5)]).min(length);
            let piece = PIECES[dice.below(PIECES.len())];
            client.splice("a.loom", from, to, piece);
            let rows = client.diagnostics("a.loom");
            let now = words(&client);
            if rows.iter().any(is_language) {
                let stays = |row: &(String, String)| row.0.starts_with("language.") || whole.contains(row);
                assert!(now.iter().all(stays), "seed {seed}, step {step}: {now:?} of {whole:?}");
            } else {
                whole = now;
            }
            if step % 5 == 4 {
                std::fs::write(client.path("a.loom"), client.text("a.loom")).unwrap();
                let wanted = checked(&client, "a.loom");
                let mut told = shown(&rows);
                // While the language has a mistake, a check tells no more, and an editor what it told before.
                if wanted.iter().any(|row| row.2.starts_with("language.")) {
                    told.retain(|row| row.2.starts_with("language."));
                }
                assert_eq!(told, wanted, "seed {seed}, step {step}:\n{}", client.text("a.loom"));
            }
            if step % 10 == 9 {
                // Back to where it has much to tell.
                let all = client.text("a.loom").len();
                client.splice("a.loom", 0, all, &ascii);
                client.diagnostics("a.loom");
                whole = words(&client);
            }
        }
        assert_eq!(client.end().code(), Some(0));
    }
}

#[test]
fn no_request_at_any_place_of_a_broken_text_fails() {
    let mut dice = Dice(77);
    let mut text = sample("travelling-clinic.loom");
    for _ in 0..12 {
        let mut at = dice.below(text.len());
        while !text.is_char_boundary(at) {
            at -= 1;
        }
        text.insert_str(at, PIECES[dice.below(PIECES.len())]);
    }
    let mut client = Client::new(&[("parts.loom", &sample("parts.loom"))]);
    client.open("a.loom", &text);
    let uri = client.uri("a.loom");
    for _ in 0..80 {
        let position = json!({"line": dice.below(120), "character": dice.below(60)});
        let mut at = json!({"textDocument": {"uri": uri}, "position": position});
        at["options"] = json!({"tabSize": 2, "insertSpaces": true});
        at["context"] =
            json!({"includeDeclaration": dice.below(2) == 0, "diagnostics": [], "triggerKind": 1});
        at["range"] =
            json!({"start": position, "end": {"line": dice.below(140), "character": dice.below(60)}});
        for method in [
            "hover",
            "completion",
            "definition",
            "references",
            "prepareRename",
            "codeAction",
            "formatting",
            "documentSymbol",
            "foldingRange",
        ] {
            client.request(&format!("textDocument/{method}"), &at).unwrap();
        }
        at["newName"] = json!("other");
        if let Err(error) = client.request("textDocument/rename", &at) {
            assert_eq!(error["code"], -32803, "{error}");
        }
    }
    assert_eq!(client.request("shutdown", &Value::Null), Ok(Value::Null));
}
