//! From a keystroke to what is told of it: printed, not judged, as it hangs on the machine. In release mode:
//! `cargo test --release --test main editor::speed -- --ignored --nocapture`

use std::time::{Duration, Instant};

use super::client::Client;

#[path = "../bench/generate.rs"]
mod generate;

#[test]
#[ignore = "it measures"]
fn keystrokes() {
    for (n_wires, n_keys) in [(480, 1000), (4800, 200)] {
        let text = generate::design(n_wires);
        let n_elements =
            text.lines().filter(|line| !line.starts_with("design") && !line.starts_with("assume")).count();
        let mut client = Client::new(&[]);
        client.open("a.loom", &text);
        let mut times: Vec<Duration> = Vec::new();
        for key in 0..n_keys {
            // A wire somewhere gets another length and its own again, is broken by a letter and mended.
            let text = client.text("a.loom");
            let wires: Vec<usize> = text.match_indices(" 4 m red").map(|row| row.0 + 1).collect();
            let at = wires[(key * 7919) % wires.len()];
            let undone = |text: &str, word: &str| text.find(word).expect("what was typed last");
            let (from, to, with) = match key % 4 {
                0 => (at, at, "1"),
                1 => (undone(text, " 14 m red") + 1, undone(text, " 14 m red") + 2, ""),
                2 => (at + 2, at + 2, "x"),
                _ => (undone(text, " 4 xm red") + 3, undone(text, " 4 xm red") + 4, ""),
            };
            let began = Instant::now();
            client.splice("a.loom", from, to, with);
            client.diagnostics("a.loom");
            times.push(began.elapsed());
        }
        times.sort();
        let share = |percent: usize| times[(times.len() * percent / 100).min(times.len() - 1)];
        println!(
            "{n_elements} elements, {n_keys} keystrokes: half under {:.1?}, 99 of 100 under {:.1?}, all under {:.1?}",
            share(50),
            share(99),
            times[times.len() - 1]
        );
    }
}
