//! Folders that come and go, files that change on the disk, and the completion of their paths.

use serde_json::{Value, json};

use super::client::{Client, position};
use super::{codes, sample};

const LIBRARY: &str = "library kits \"Our kits\"\npart thick is fuse 50 A bolt-in\n";

/// A server with some folders below the client's own.
fn client_on(folders: &[&str], files: &[(&str, &str)]) -> (Client, Value) {
    let mut client = Client::raw(files);
    let folders: Vec<Value> =
        folders.iter().map(|name| json!({"uri": client.uri(name), "name": name})).collect();
    let params = json!({"processId": null, "rootUri": null, "workspaceFolders": folders, "capabilities": {}});
    let result = client.request("initialize", &params).unwrap();
    client.notify("initialized", &json!({}));
    (client, result["capabilities"].clone())
}

fn folders_change(client: &mut Client, added: &[&str], removed: &[&str]) {
    let list = |names: &[&str]| -> Vec<Value> {
        names.iter().map(|name| json!({"uri": client.uri(name), "name": name})).collect()
    };
    let event = json!({"added": list(added), "removed": list(removed)});
    client.notify("workspace/didChangeWorkspaceFolders", &json!({"event": event}));
}

/// Waits until a mistake of the language is told of a file, or none.
fn wait(client: &mut Client, name: &str, mistake: bool) {
    let uri = client.uri(name);
    let is_so = |rows: &Value| rows.to_string().contains("language.") == mistake;
    if !is_so(&json!(client.rows(name))) {
        client.wait(|row| row["params"]["uri"] == *uri && is_so(&row["params"]["diagnostics"]));
    }
}

#[test]
fn folders_that_come_and_go_are_what_use_may_reach() {
    let files = [("all/boats/a.loom", ""), ("all/lib/kits.loom", LIBRARY)];
    let (mut client, capabilities) = client_on(&["all/boats"], &files);
    let told = &capabilities["workspace"]["workspaceFolders"];
    assert_eq!(*told, json!({"supported": true, "changeNotifications": true}));
    let rows = client.open("all/boats/a.loom", "design d \"d\"\nuse \"../lib/kits.loom\"\nfuse F = thick\n");
    assert_eq!(codes(&rows).first(), Some(&"language.use"), "{rows:?}");
    folders_change(&mut client, &["all"], &[]);
    wait(&mut client, "all/boats/a.loom", false);
    folders_change(&mut client, &[], &["all"]);
    wait(&mut client, "all/boats/a.loom", true);
    folders_change(&mut client, &["all"], &["all/boats"]);
    wait(&mut client, "all/boats/a.loom", false);
    // Folders that nobody had.
    folders_change(&mut client, &[], &["nowhere", "all/boats"]);
    client.notify("workspace/didChangeWorkspaceFolders", &json!({"event": 7}));
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn what_changes_on_the_disk_is_judged_anew_in_every_open_design() {
    let book = |distance: &str| {
        let limit = format!("{{ value = \"{distance}\", source = \"ours\", confidence = \"memory\" }}");
        format!(
            "title = \"Ours\"\nbased-on = \"common-practice\"\n\n[limits]\n\"distance.battery-bare\" = {limit}\n"
        )
    };
    let far = sample("faults/protection.far.mended.loom");
    let mut client = Client::new(&[("kits.loom", LIBRARY), ("house.toml", &book("180 mm"))]);
    let uses = "design d \"d\"\nuse \"kits.loom\"\nfuse F = thick\n";
    for name in ["a.loom", "b.loom"] {
        let rows = client.open(name, uses);
        assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    }
    let rows = client.open("none.loom", &uses.replace("kits", "late"));
    assert!(codes(&rows).contains(&"language.use"));
    let change = |client: &mut Client, name: &str, text: Option<&str>| {
        let kind = match text {
            Some(text) => std::fs::write(client.path(name), text).map(|()| 2),
            None => std::fs::remove_file(client.path(name)).map(|()| 3),
        };
        let changes = json!([{"uri": client.uri(name), "type": kind.unwrap()}]);
        client.notify("workspace/didChangeWatchedFiles", &json!({"changes": changes}));
    };
    // The library loses the part: both designs say so; then it is gone, and there again.
    change(&mut client, "kits.loom", Some("library kits \"Our kits\"\n"));
    wait(&mut client, "a.loom", true);
    wait(&mut client, "b.loom", true);
    change(&mut client, "kits.loom", Some(LIBRARY));
    wait(&mut client, "a.loom", false);
    change(&mut client, "kits.loom", None);
    wait(&mut client, "a.loom", true);
    change(&mut client, "late.loom", Some(&LIBRARY.replace("kits", "late")));
    wait(&mut client, "none.loom", false);
    // What is open and not saved goes before what changes below it.
    client.open("kits.loom", LIBRARY);
    wait(&mut client, "a.loom", false);
    change(&mut client, "kits.loom", Some("library kits \"Our kits\"\n"));
    let rows = client.replace("a.loom", "design d", "design e");
    assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    // A rule book.
    let (first, rest) = far.split_at(far.find("assume").unwrap());
    let rows = client.open("far.loom", &format!("{first}book house.toml\n{rest}"));
    assert!(!codes(&rows).contains(&"protection.far"), "{rows:?}");
    change(&mut client, "house.toml", Some(&book("5 mm")));
    let uri = client.uri("far.loom");
    client.wait(|row| {
        row["params"]["uri"] == *uri && row["params"]["diagnostics"].to_string().contains("protection.far")
    });
}

/// What can be written at the end of a text, then at a place in it: labels with what is written for each.
fn offered(client: &mut Client, name: &str, text: &str) -> Vec<(String, Value)> {
    let at = text.find('^').unwrap();
    let text = text.replace('^', "");
    match client.texts.get(name).map(|row| row.1.len()) {
        None => drop(client.open(name, &text)),
        Some(length) => client.splice(name, 0, length, &text),
    }
    let params = json!({"textDocument": {"uri": client.uri(name)}, "position": position(&text, at)});
    let result = client.request("textDocument/completion", &params).unwrap();
    let items = result["items"].as_array().cloned().unwrap_or_default();
    items.iter().map(|item| (item["label"].as_str().unwrap().to_owned(), item["textEdit"].clone())).collect()
}

#[test]
fn paths_and_books_are_completed() {
    let files = [
        ("boats/a.loom", ""),
        ("boats/other.loom", "design other \"No library\"\n"),
        ("boats/inner/more.loom", "# first\n\nlibrary more \"More kits\"\n"),
        ("lib/kits.loom", LIBRARY),
        (".hidden/kits.loom", LIBRARY),
        ("house.toml", "title = \"The house book\"\nbased-on = \"common-practice\"\n"),
        ("other.toml", "[package]\nname = \"x\"\n"),
    ];
    let mut client = Client::new(&files);
    client.open("boats/new.loom", "library new \"Not saved yet\"\n");
    let name = "boats/a.loom";
    let head = "design d \"d\"\n";
    let paths = ["../lib/kits.loom", "../parts.loom", "inner/more.loom", "new.loom"];
    let labels = |rows: &[(String, Value)]| {
        let mut all: Vec<String> = rows.iter().map(|row| row.0.clone()).collect();
        all.sort();
        all
    };
    let rows = offered(&mut client, name, &format!("{head}use \"^"));
    assert_eq!(labels(&rows), paths);
    assert!(rows.iter().all(|row| row.1["newText"] == format!("{}\"", row.0)), "{rows:?}");
    let rows = offered(&mut client, name, &format!("{head}use ^"));
    assert_eq!(labels(&rows), paths);
    assert!(rows.iter().all(|row| row.1["newText"] == format!("\"{}\"", row.0)), "{rows:?}");
    // Within quotes that are closed already, and with a part of it written.
    let text = format!("{head}use \"../l^\"\nfuse F = thick\n");
    let rows = offered(&mut client, name, &text);
    assert_eq!(labels(&rows), paths);
    let kits = rows.iter().find(|row| row.0 == "../lib/kits.loom").unwrap();
    assert_eq!(kits.1["newText"], "../lib/kits.loom");
    assert_eq!(client.under(name, &kits.1["range"]), "../l");
    client.edit(name, &json!([kits.1]));
    assert_eq!(client.text(name), "design d \"d\"\nuse \"../lib/kits.loom\"\nfuse F = thick\n");
    let rows = client.diagnostics(name);
    assert!(!codes(&rows).iter().any(|code| code.starts_with("language.")), "{rows:?}");
    // Books, with and without quotes.
    for (typed, written, end) in
        [("book ^", "", ""), ("book ../h^", "../h", ""), ("book \"../h^", "../h", "\"")]
    {
        let rows = offered(&mut client, name, &format!("{head}{typed}"));
        let found = labels(&rows);
        assert!(
            found.contains(&"common-practice".to_owned()) && found.contains(&"../house.toml".to_owned()),
            "{typed}: {found:?}"
        );
        assert!(!found.iter().any(|label| label.contains("other.toml")), "{found:?}");
        let house = rows.iter().find(|row| row.0 == "../house.toml").unwrap();
        assert_eq!(client.under(name, &house.1["range"]), written, "{typed}");
        assert_eq!(house.1["newText"], format!("../house.toml{end}"), "{typed}");
    }
    // Nothing in other texts, in comments, or after the quote that ends one.
    for typed in ["note x \"^", "use \"a.loom\" # \"^", "design \"^"] {
        assert_eq!(offered(&mut client, name, &format!("{head}{typed}")), [], "{typed}");
    }
    let text = format!("{head}load l \"label\"");
    let length = client.text(name).len();
    client.splice(name, 0, length, &text);
    let mut params =
        json!({"textDocument": {"uri": client.uri(name)}, "position": position(&text, text.len())});
    params["context"] = json!({"triggerKind": 2, "triggerCharacter": "\""});
    assert_eq!(client.request("textDocument/completion", &params), Ok(Value::Null));
}
