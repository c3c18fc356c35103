//! Conductor sizes: square millimetres, American wire gauge, and the thinner road-vehicle gauge.

use super::Area;

/// A gauge number as printed: 18 to 1, then 1/0 to 4/0, held as 0, -1, -2, -3.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gauge(pub i8);

/// The size of a conductor, in the series in which it was written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// Copper area of the metric series (IEC 60228).
    Metric(Area),
    /// American wire gauge (ASTM B258).
    Awg(Gauge),
    /// Road-vehicle gauge (SAE J1128 minimum areas), smaller than AWG of the same number.
    Sae(Gauge),
}

/// SAE J1128 minimum areas in circular mils, as tabulated in ABYC E-11; 18 to 14 and 10 to 4/0 from memory, 12 checked.
const SAE_CIRCULAR_MILS: &[(i8, f64)] = &[
    (-3, 205_500.0),
    (-2, 158_600.0),
    (-1, 125_100.0),
    (0, 98_980.0),
    (1, 77_790.0),
    (2, 62_450.0),
    (4, 37_360.0),
    (6, 24_538.0),
    (8, 14_810.0),
    (10, 9_343.0),
    (12, 5_833.0),
    (14, 3_702.0),
    (16, 2_336.0),
    (18, 1_537.0),
];

impl Gauge {
    /// Reads `6` or `2/0`; `None` outside 40 to 4/0.
    #[must_use]
    pub fn parse(text: &str) -> Option<Self> {
        if let Some(zeros) = text.strip_suffix("/0") {
            let zeros: i8 = zeros.parse().ok()?;
            return (1..=4).contains(&zeros).then_some(Self(1 - zeros));
        }
        let number: i8 = text.parse().ok()?;
        (0..=40).contains(&number).then_some(Self(number))
    }

    /// Diameter of the solid conductor in millimetres: `0.127 × 92^((36 − n) / 39)` (ASTM B258).
    #[must_use]
    pub fn diameter_mm(self) -> f64 {
        0.127 * 92_f64.powf((36.0 - f64::from(self.0)) / 39.0)
    }

    /// The AWG area.
    #[must_use]
    pub fn awg_area(self) -> Area {
        let diameter = self.diameter_mm();
        Area::mm2(std::f64::consts::FRAC_PI_4 * diameter * diameter)
    }

    /// The road-vehicle area, for the numbers that are tabulated.
    #[must_use]
    pub fn sae_area(self) -> Option<Area> {
        const MM2_PER_CIRCULAR_MIL: f64 = std::f64::consts::FRAC_PI_4 * 0.0254 * 0.0254;
        let row = SAE_CIRCULAR_MILS.iter().find(|row| row.0 == self.0)?;
        Some(Area::mm2(row.1 * MM2_PER_CIRCULAR_MIL))
    }
}

impl std::fmt::Display for Gauge {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.0 <= 0 { write!(f, "{}/0", 1 - self.0) } else { write!(f, "{}", self.0) }
    }
}

/// Standard areas of IEC 60228 in square millimetres.
const METRIC_SERIES: &[f64] =
    &[0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0];

/// Gauge numbers that are commonly drawn, thinnest first.
const GAUGE_SERIES: &[i8] = &[18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3];

impl Size {
    /// The standard sizes of the series that a size was written in, thinnest first.
    pub fn series(like: Self) -> Box<dyn Iterator<Item = Self>> {
        match like {
            Self::Metric(_) => Box::new(METRIC_SERIES.iter().map(|area| Self::Metric(Area::mm2(*area)))),
            Self::Awg(_) => Box::new(GAUGE_SERIES.iter().map(|gauge| Self::Awg(Gauge(*gauge)))),
            Self::Sae(_) => Box::new(GAUGE_SERIES.iter().map(|gauge| Self::Sae(Gauge(*gauge)))),
        }
    }

    /// Area of the copper.
    #[must_use]
    pub fn area(self) -> Area {
        match self {
            Self::Metric(area) => area,
            Self::Awg(gauge) => gauge.awg_area(),
            Self::Sae(gauge) => gauge.sae_area().unwrap_or_else(|| gauge.awg_area() * 0.9),
        }
    }
}

impl std::fmt::Display for Size {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Metric(area) => write!(f, "{area}"),
            Self::Awg(gauge) => write!(f, "{gauge} AWG"),
            Self::Sae(gauge) => write!(f, "{gauge} SAE"),
        }
    }
}
