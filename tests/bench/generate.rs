//! Generated designs for measurements: panels on a common feed, some of them fed twice, linked or returning elsewhere.

use std::fmt::Write as _;

/// A right design of about `n_wires` wires: tree-like, with some loops. All figures are invented.
pub fn design(n_wires: usize) -> String {
    let mut text = String::new();
    let out = &mut text;
    line(out, "design generated \"Invented: panels on a common feed\"");
    line(out, "assume insulation 105 C");
    line(out, "battery house lifepo4 12 V 200 Ah fault 5 kA full 14.4 V");
    line(out, "fuse F 400 A class-t volts 125 V breaks 20 kA");
    line(out, "bar plus M10 x 12 600 A");
    line(out, "bar minus M10 x 12 600 A");
    line(out, "meter tally 500 A 50 mV counts house");
    line(out, "fuse FS 2 A blade volts 32 V breaks 10 kA on plus");
    line(out, "wire WS from FS.load to tally.sense 0.75 mm2 0.4 m red");
    line(out, "wire WB from house.+ to F.line 150 mm2 0.15 m red");
    line(out, "wire WP from F.load to plus 150 mm2 0.5 m red");
    line(out, "wire WN from house.- to tally.bat 150 mm2 0.3 m black");
    line(out, "wire WM from tally.sys to minus 150 mm2 0.3 m black");
    let n_panels = n_wires.saturating_sub(5).div_ceil(2 + 2 * LOADS).max(1);
    for panel in 0..n_panels {
        one_panel(out, panel, n_panels);
    }
    text
}

const LOADS: usize = 12;

fn one_panel(out: &mut String, panel: usize, n_panels: usize) {
    line(out, &format!("fuse FP{panel} 60 A bolt-in volts 32 V breaks 10 kA on plus"));
    line(out, &format!("bar P{panel} M6 x 16 200 A"));
    line(out, &format!("bar N{panel} M6 x 16 200 A"));
    line(out, &format!("wire WF{panel} from FP{panel}.load to P{panel} 25 mm2 3 m red"));
    line(out, &format!("wire WR{panel} from N{panel} to minus 35 mm2 3 m black"));
    if panel % 10 == 3 {
        // A second feed with its own fuse: a mesh in the positive.
        line(out, &format!("fuse FQ{panel} 40 A bolt-in volts 32 V breaks 10 kA on plus"));
        line(out, &format!("wire WQ{panel} from FQ{panel}.load to P{panel} 25 mm2 3 m red"));
    }
    if panel % 25 == 7 && panel + 1 < n_panels {
        // Two neighbours joined by a fuse: a longer mesh.
        line(out, &format!("fuse FL{panel} 20 A bolt-in volts 32 V breaks 10 kA"));
        line(out, &format!("wire WL{panel} from P{panel} to FL{panel}.line 25 mm2 1 m red"));
        line(out, &format!("wire WK{panel} from FL{panel}.load to P{} 25 mm2 1 m red", panel + 1));
    }
    for load in 0..LOADS {
        let name = format!("{panel}-{load}");
        // Now and then a load comes back to the next panel's negative.
        let home = if panel % 20 == 11 && load == 5 && panel + 1 < n_panels { panel + 1 } else { panel };
        line(out, &format!("fuse FB{name} 7.5 A blade volts 32 V breaks 10 kA on P{panel}"));
        line(out, &format!("load L{name} 12 V 30 W"));
        line(out, &format!("wire WA{name} from FB{name}.load to L{name}.+ 2.5 mm2 4 m red"));
        line(out, &format!("wire WC{name} from L{name}.- to N{home} 2.5 mm2 4 m black"));
    }
}

fn line(out: &mut String, text: &str) {
    let _ = writeln!(out, "{text}");
}
