//! Messages on a pipe. What cannot be read is answered and does not end the conversation.

use std::io::{self, BufRead, Read, Write};

use lsp_server::{ErrorCode, Message};
use serde_json::{Value, json};

/// Longest message in bytes: twice the largest file, as every character may be escaped.
const LONGEST: usize = 128 << 20;
/// Longest line of a head.
const LONGEST_HEAD: u64 = 4096;

/// What came in.
#[derive(Debug)]
pub(super) enum Incoming {
    Message(Message),
    /// It is no message; the answer to it.
    Unreadable(Value),
    /// Nothing more comes.
    End,
}

/// Reads one message.
pub(super) fn read(input: &mut impl BufRead) -> Incoming {
    match body(input) {
        Ok(Some(bytes)) => parsed(&bytes),
        Ok(None) | Err(_) => Incoming::End,
    }
}

/// The bytes after a head; `None` at the end, or where no length is given and so nothing after can be told apart.
fn body(input: &mut impl BufRead) -> io::Result<Option<Vec<u8>>> {
    let mut length = None;
    loop {
        let mut line = Vec::new();
        input.by_ref().take(LONGEST_HEAD).read_until(b'\n', &mut line)?;
        if line.is_empty() {
            return Ok(None);
        }
        let line = String::from_utf8_lossy(&line);
        let line = line.trim_end();
        if line.is_empty() {
            break;
        }
        if let Some((name, value)) = line.split_once(':')
            && name.trim().eq_ignore_ascii_case("content-length")
        {
            length = value.trim().parse::<usize>().ok();
        }
    }
    let Some(length) = length.filter(|length| *length <= LONGEST) else { return Ok(None) };
    let mut bytes = Vec::new();
    input.by_ref().take(length as u64).read_to_end(&mut bytes)?;
    Ok((bytes.len() == length).then_some(bytes))
}

fn parsed(bytes: &[u8]) -> Incoming {
    if let Some(mended) = without_halves(bytes) {
        return parsed(&mended);
    }
    match serde_json::from_slice(bytes) {
        // With an id it is a request that wants an answer, and the id none that a request may have.
        Ok(Message::Notification(_)) if has_id(bytes) => {}
        Ok(message) => return Incoming::Message(message),
        Err(_) => {}
    }
    let (id, code, what) = match serde_json::from_slice::<Value>(bytes) {
        Ok(value) => {
            let id = value.get("id").filter(|id| id.is_number() || id.is_string()).cloned();
            let what = match value.get("method") {
                Some(_) => "the id of a request is a text, or a whole number of 32 bits",
                None => "it is no request, notification or response",
            };
            (id, ErrorCode::InvalidRequest, what.to_owned())
        }
        Err(error) => (None, ErrorCode::ParseError, error.to_string()),
    };
    let id = id.unwrap_or(Value::Null);
    let error = json!({"code": code as i32, "message": format!("the message cannot be read: {what}")});
    Incoming::Unreadable(json!({"jsonrpc": "2.0", "id": id, "error": error}))
}

/// The message with the replacement character for each half of a surrogate pair that stands alone, which JSON permits and text
/// cannot hold; `None` where there is none.
fn without_halves(bytes: &[u8]) -> Option<Vec<u8>> {
    let escape = |at: usize| match bytes.get(at..at + 6)? {
        [b'\\', b'u', digits @ ..] => u16::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok(),
        _ => None,
    };
    let mut mended: Option<Vec<u8>> = None;
    let mut at = 0;
    while let Some(next) = bytes.get(at..).and_then(|rest| rest.iter().position(|byte| *byte == b'\\')) {
        at += next;
        at += match escape(at) {
            Some(0xd800..0xdc00) if matches!(escape(at + 6), Some(0xdc00..0xe000)) => 12,
            Some(0xd800..0xe000) => {
                mended.get_or_insert_with(|| bytes.to_vec())[at + 2..at + 6].copy_from_slice(b"fffd");
                6
            }
            _ => 2,
        };
    }
    mended
}

fn has_id(bytes: &[u8]) -> bool {
    #[derive(serde::Deserialize)]
    struct Head {
        id: Option<serde::de::IgnoredAny>,
    }
    serde_json::from_slice::<Head>(bytes).is_ok_and(|head| head.id.is_some())
}

/// What goes out.
#[derive(Debug)]
pub(super) enum Outgoing {
    Message(Message),
    /// An answer to what was no message.
    Plain(Value),
    /// A message that is written already.
    Text(String),
}

/// Writes one message.
pub(super) fn write(outgoing: &Outgoing, output: &mut dyn Write) -> io::Result<()> {
    match outgoing {
        Outgoing::Message(message) => message.write(&mut &mut *output),
        Outgoing::Plain(value) => write_text(&value.to_string(), output),
        Outgoing::Text(text) => write_text(text, output),
    }
}

fn write_text(text: &str, output: &mut dyn Write) -> io::Result<()> {
    write!(output, "Content-Length: {}\r\n\r\n", text.len())?;
    output.write_all(text.as_bytes())?;
    output.flush()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_bytes_are_too_strange() {
        let cases: [&[u8]; 7] = [
            b"",
            b"Content-Length: 99999999999999999999\r\n\r\n{}",
            b"Content-Length: 18446744073709551615\r\n\r\n{}",
            b"Content-Length: -1\r\n\r\n{}",
            b"nonsense\r\n\r\n",
            b"Content-Length: 20\r\n\r\n{}",
            b"\xff\xfe\r\n",
        ];
        for case in cases {
            assert!(matches!(read(&mut &*case), Incoming::End), "{case:?}");
        }
    }

    #[test]
    fn a_request_whose_id_is_none_is_answered() {
        for (id, echo) in [
            ("1.5", json!(1.5)),
            ("1180591620717411303424", json!(1_180_591_620_717_411_303_424.0)),
            ("[1]", Value::Null),
        ] {
            let body = format!("{{\"jsonrpc\":\"2.0\",\"id\":{id},\"method\":\"shutdown\"}}");
            let Incoming::Unreadable(answer) = parsed(body.as_bytes()) else { panic!("{body}") };
            assert_eq!((&answer["id"], &answer["error"]["code"]), (&echo, &json!(-32600)), "{body}");
        }
        assert!(matches!(parsed(b"{\"method\":\"exit\"}"), Incoming::Message(Message::Notification(_))));
    }

    #[test]
    fn half_a_surrogate_pair_is_a_replacement_character() {
        let text = |escaped: &str| match parsed(
            format!("{{\"method\":\"x\",\"params\":[\"{escaped}\"]}}").as_bytes(),
        ) {
            Incoming::Message(Message::Notification(row)) => row.params[0].as_str().unwrap().to_owned(),
            other => panic!("{other:?}"),
        };
        assert_eq!(text(r"a\ud83db"), "a\u{fffd}b");
        assert_eq!(text(r"\udd25\ud83d\ud83d\udd25"), "\u{fffd}\u{fffd}\u{1f525}");
        assert_eq!(text(r"\\ud83d \u00e9"), r"\ud83d é");
    }

    #[test]
    fn what_is_no_message_is_answered() {
        let bytes = b"Content-Length: 2\r\n\r\n{]content-length:13\r\n\r\n{\"id\":\"x\",1:}Content-Length: 8\r\n\r\n{\"id\":7}";
        let mut input: &[u8] = bytes;
        let mut answers = Vec::new();
        while let Incoming::Unreadable(answer) = read(&mut input) {
            answers.push((answer["id"].clone(), answer["error"]["code"].clone()));
        }
        assert_eq!(
            answers,
            [(Value::Null, json!(-32700)), (Value::Null, json!(-32700)), (json!(7), json!(-32600))]
        );
    }
}
