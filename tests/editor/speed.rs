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
            // Every 20th load takes more than its fuse is for, the others little, so that the battery feeds all.
            let mut n_loads = 0;
            let mut other = |line: &str| {
                n_loads += usize::from(line.starts_with("load L"));
                let is_heavy = line.starts_with("load L") && n_loads % 20 == 1;
                line.replace(" 30 W", if is_heavy { " 150 W" } else { " 4 W" }) + "\n"
            };
            text = text.lines().map(&mut other).collect();
        }
        let n_elements =
            text.lines().filter(|line| !line.starts_with("design") && !line.starts_with("assume")).count();
        let mut client = Client::new(&[]);
        client.open("a.loom", &text);
        // What the study finds is there too, and stays from then on.
        let last = if is_faulty { "protection.undersize" } else { "unknown.rating" };
        client.wait(|row| row["params"]["diagnostics"].to_string().contains(last));
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
    // When they have arrived: how fast this client reads them is not what is measured.
    let took = client.arrived.duration_since(began);
    let is_broken = codes(&rows).iter().any(|code| code.starts_with("language."));
    assert_eq!(is_broken, key % 4 == 2, "what is told is of this keystroke");
    took
}
