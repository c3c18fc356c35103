//! From a keystroke to what is told of it: printed, not judged, as it hangs on the machine. Of a release build:
//! `cargo build --release && OHMWARD_BINARY=target/release/ohmward cargo test --test main editor::speed -- --ignored --nocapture`

use std::time::{Duration, Instant};

use super::client::Client;
use super::codes;

#[path = "../bench/generate.rs"]
mod generate;

#[test]
#[ignore = "it measures"]
fn keystrokes() {
    for (n_wires, n_keys, is_faulty) in [(480, 1000, false), (480, 1000, true), (4800, 200, false)] {
        let mut text = generate::design(n_wires);
        if is_faulty {
            // Every 20th load takes far more than its wires carry.
            let heavy = |(n, line): (usize, &str)| match line.starts_with("load L") && n % 20 == 0 {
                true => line.replace("30 W", "900 W") + "\n",
                false => format!("{line}\n"),
            };
            text = text.lines().enumerate().map(heavy).collect();
        }
        let n_elements =
            text.lines().filter(|line| !line.starts_with("design") && !line.starts_with("assume")).count();
        let mut client = Client::new(&[]);
        client.open("a.loom", &text);
        if is_faulty {
            client.wait(|row| row["params"]["diagnostics"].to_string().contains("conductor.overloaded"));
        }
        let n_findings = client.rows("a.loom").len();
        let mut times: Vec<Duration> = (0..n_keys).map(|key| keystroke(&mut client, key)).collect();
        times.sort();
        let share = |percent: usize| times[(times.len() * percent / 100).min(times.len() - 1)];
        println!(
            "{n_elements} elements, {n_findings} findings, {n_keys} keystrokes: half under {:.1?}, 99 of 100 under {:.1?}, all under {:.1?}",
            share(50),
            share(99),
            times[times.len() - 1]
        );
    }
}

/// A wire somewhere gets another length and its own again, is broken by a letter and mended: one of these four.
fn keystroke(client: &mut Client, key: usize) -> Duration {
    let text = client.text("a.loom");
    let wires: Vec<usize> = text.match_indices(" 4 m red").map(|row| row.0 + 1).collect();
    let at = wires[(key * 7919) % wires.len()];
    let undone = |word: &str| text.find(word).expect("what was typed last");
    let (from, to, with) = match key % 4 {
        0 => (at, at, "1"),
        1 => (undone(" 14 m red") + 1, undone(" 14 m red") + 2, ""),
        2 => (at + 2, at + 2, "x"),
        _ => (undone(" 4 xm red") + 3, undone(" 4 xm red") + 4, ""),
    };
    let began = Instant::now();
    client.splice("a.loom", from, to, with);
    let rows = client.diagnostics("a.loom");
    let took = began.elapsed();
    let is_broken = codes(&rows).iter().any(|code| code.starts_with("language."));
    assert_eq!(is_broken, key % 4 == 2, "what is told is of this keystroke");
    took
}
