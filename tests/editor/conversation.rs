//! How a conversation goes: its start and end, what is not understood, closed pipes.

use serde_json::{Value, json};

use super::client::Client;
use super::{codes, sample};

#[test]
fn starts_and_ends_as_the_protocol_says() {
    let mut client = Client::raw(&[]);
    let early = client.request("textDocument/hover", &json!({})).unwrap_err();
    assert_eq!(early["code"], -32002);
    let params = json!({"processId": null, "rootUri": null, "capabilities": {
        "general": {"positionEncodings": ["utf-32", "utf-8", "utf-16"]}}});
    let result = client.request("initialize", &params).unwrap();
    assert_eq!(result["capabilities"]["positionEncoding"], "utf-8");
    assert_eq!(result["capabilities"]["textDocumentSync"]["change"], 2);
    client.notify("initialized", &json!({}));
    assert_eq!(client.request("initialize", &params).unwrap_err()["code"], -32600);
    assert_eq!(client.request("shutdown", &Value::Null), Ok(Value::Null));
    assert_eq!(client.request("textDocument/hover", &json!({})).unwrap_err()["code"], -32600);
    client.notify("exit", &Value::Null);
    assert_eq!(client.status().code(), Some(0));
}

#[test]
fn an_end_without_a_word_is_a_failure() {
    let mut client = Client::new(&[]);
    client.notify("exit", &Value::Null);
    assert_eq!(client.status().code(), Some(1), "exit without shutdown");
    assert_eq!(Client::new(&[]).close().code(), Some(1), "a closed pipe");
    assert_eq!(Client::raw(&[]).close().code(), Some(1), "a pipe that nothing came through");
    assert_eq!(Client::new(&[]).end().code(), Some(0));
}

#[test]
fn what_is_not_understood_is_answered() {
    let mut client = Client::new(&[]);
    assert_eq!(client.request("textDocument/nonsense", &json!({})).unwrap_err()["code"], -32601);
    assert_eq!(client.request("textDocument/hover", &json!({"a": 1})).unwrap_err()["code"], -32602);
    assert_eq!(client.request("textDocument/rename", &json!([])).unwrap_err()["code"], -32602);
    client.notify("nonsense", &json!({}));
    client.notify("textDocument/didChange", &json!({"textDocument": 7}));
    client.notify(
        "textDocument/didChange",
        &json!({"textDocument": {"uri": "file:///nowhere.loom", "version": 3}, "contentChanges": []}),
    );
    client.notify("textDocument/didClose", &json!({"textDocument": {"uri": "untitled:x"}}));
    client.notify("$/cancelRequest", &json!({"id": 99}));
    client.send_bytes(b"Content-Length: 5\r\n\r\n{\"a\":");
    assert_eq!(client.answer(&Value::Null).unwrap_err()["code"], -32700);
    client.send_bytes(b"Content-Length: 19\r\nContent-Type: x\r\n\r\n{\"id\":1e99,\"x\":[]}\n");
    assert_eq!(client.wait(|row| row.get("error").is_some())["error"]["code"], -32600);
    // A response to nothing, and a notification with an id that is none.
    client.send_bytes(b"Content-Length: 38\r\n\r\n{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":null}");
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn places_out_of_the_text_are_clamped() {
    let mut client = Client::new(&[("a.loom", &sample("wagtail.loom"))]);
    client.open_disk("a.loom");
    let uri = client.uri("a.loom");
    for position in [[0, 4_000_000_000_u32], [4_000_000_000, 0], [4_294_967_295, 4_294_967_295]] {
        let at = json!({"textDocument": {"uri": uri}, "position": {"line": position[0], "character": position[1]},
            "context": {"includeDeclaration": true, "triggerKind": 1}, "newName": "x"});
        for method in ["hover", "completion", "definition", "references", "prepareRename"] {
            client.request(&format!("textDocument/{method}"), &at).unwrap();
        }
        assert_eq!(client.request("textDocument/rename", &at).unwrap_err()["code"], -32803);
        let range = json!({"start": at["position"], "end": at["position"]});
        let params = json!({"textDocument": {"uri": uri}, "range": range, "context": {"diagnostics": []}});
        assert_eq!(client.request("textDocument/codeAction", &params), Ok(json!([])));
    }
    let huge = json!({"line": 4_294_967_295_u32, "character": 4_294_967_295_u32});
    let change = json!({"range": {"start": huge, "end": huge}, "text": "# end\n"});
    let document = json!({"uri": uri, "version": 2});
    client.notify("textDocument/didChange", &json!({"textDocument": document, "contentChanges": [change]}));
    client.texts.insert("a.loom".into(), (2, String::new()));
    assert_eq!(client.diagnostics("a.loom"), [] as [Value; 0]);
}

#[test]
fn files_that_are_not_there_or_not_files_are_served_all_the_same() {
    let mut client = Client::new(&[]);
    for uri in [
        "file:///nowhere/at/all.loom",
        "untitled:Untitled-1",
        "file:///",
        "https://example.org/a.loom",
        "file:///%00.loom",
    ] {
        let at = json!({"textDocument": {"uri": uri}, "position": {"line": 0, "character": 0}});
        for method in ["hover", "completion", "definition", "documentSymbol", "foldingRange", "prepareRename"]
        {
            client
                .request(&format!("textDocument/{method}"), &at)
                .unwrap_or_else(|error| panic!("{uri} {method}: {error}"));
        }
    }
    let text = "design d \"d\"\nnonsense\n";
    let item = json!({"uri": "untitled:Untitled-1", "languageId": "loom", "version": 1, "text": text});
    client.notify("textDocument/didOpen", &json!({"textDocument": item}));
    let told = client.wait(|row| row["params"]["uri"] == "untitled:Untitled-1");
    assert_eq!(codes(told["params"]["diagnostics"].as_array().unwrap()), ["language.word"]);
    assert_eq!(client.end().code(), Some(0));
}

#[test]
fn every_version_is_told_and_a_closed_file_is_cleared() {
    let mut client = Client::new(&[]);
    let text = sample("faults/protection.missing.loom");
    let rows = client.open("a.loom", &text);
    assert_eq!(codes(&rows), ["protection.missing"]);
    let row = rows.iter().find(|row| row["code"] == "protection.missing").unwrap();
    assert_eq!((row["severity"].as_u64(), row["source"].as_str()), (Some(1), Some("ohmward")));
    assert_eq!(
        row["range"],
        json!({"start": {"line": 5, "character": 5}, "end": {"line": 5, "character": 7}})
    );
    assert!(
        row["message"].as_str().unwrap().starts_with("W1 runs from B.+ with no protective device\n"),
        "{row}"
    );
    let related = &row["relatedInformation"][0];
    assert_eq!(related["location"]["uri"], client.uri("a.loom"));
    assert_eq!(related["location"]["range"]["start"], json!({"line": 3, "character": 8}));
    assert!(related["message"].as_str().unwrap().starts_with("B: can push 800 A"), "{related}");
    // A version follows even where nothing has changed for the judgement.
    assert_eq!(client.replace("a.loom", "# A lamp", "# One lamp"), rows);
    assert_eq!(client.told[&client.uri("a.loom")].0, Some(2));
    assert_eq!(codes(&client.replace("a.loom", "wire W1 from", "wire W1 form")), ["language.word"]);
    assert_eq!(codes(&client.replace("a.loom", "wire W1 form", "wire W1 from")), ["protection.missing"]);
    let document = json!({"textDocument": {"uri": client.uri("a.loom")}});
    client.notify("textDocument/didClose", &document);
    let uri = client.uri("a.loom");
    let told = client.wait(|row| row["params"]["uri"] == *uri);
    assert_eq!((told["params"]["diagnostics"].clone(), told["params"].get("version")), (json!([]), None));
}
