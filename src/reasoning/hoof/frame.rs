//! The ground line of a picture, and the points seen from it.

use super::Points;
use crate::reasoning::refused::Refused;

/// Two points nearer than this, in mm, are one: no hand marks finer.
const SAME_MM: f64 = 1e-6;

type Reckoned = Result<f64, Refused>;

/// The ground: `u` along it towards the toe, at a right angle to it the way up.
pub(super) struct Frame<'p> {
    points: &'p Points,
    origin: [f64; 2],
    u: [f64; 2],
}

impl<'p> Frame<'p> {
    /// The line through `G1` and `G2`; level without them.
    pub(super) fn of(points: &'p Points) -> Result<Self, Refused> {
        let (origin, u) = match (points.get("G1"), points.get("G2")) {
            (None, None) => ([0.0, 0.0], [1.0, 0.0]),
            (Some(_), None) => {
                return Err(Refused::new("points.G2", "is missing: the ground line needs both"));
            }
            (None, Some(_)) => {
                return Err(Refused::new("points.G1", "is missing: the ground line needs both"));
            }
            (Some(one), Some(two)) => {
                let along = [two[0] - one[0], two[1] - one[1]];
                let length = along[0].hypot(along[1]);
                if along[0] <= 0.0 || length < SAME_MM {
                    let why = "must lie at a greater x than G1: turn the picture so that the toe (DPa: lateral) is at +x";
                    return Err(Refused::new("points.G2", why));
                }
                (*one, [along[0] / length, along[1] / length])
            }
        };
        Ok(Self { points, origin, u })
    }

    /// A point that `measures` has seen to be there.
    fn point(&self, name: &str) -> [f64; 2] {
        self.points.get(name).copied().unwrap_or([f64::NAN, f64::NAN])
    }

    /// Along the ground, in mm.
    pub(super) fn along(&self, name: &str) -> f64 {
        let [x, y] = self.seen_from_origin(name);
        x * self.u[0] + y * self.u[1]
    }

    /// Over the ground, in mm.
    pub(super) fn height(&self, name: &str) -> f64 {
        let [x, y] = self.seen_from_origin(name);
        y * self.u[0] - x * self.u[1]
    }

    fn seen_from_origin(&self, name: &str) -> [f64; 2] {
        let [x, y] = self.point(name);
        [x - self.origin[0], y - self.origin[1]]
    }

    /// The solar margin's rise from tip to wing, in degrees.
    pub(super) fn sole_angle(&self) -> Reckoned {
        let run = self.along("T") - self.along("Q");
        if run < SAME_MM {
            return Err(Refused::new("points.T", "must lie nearer the toe (at a greater x) than Q"));
        }
        Ok((self.height("Q") - self.height("T")).atan2(run).to_degrees())
    }

    /// The angle of a dorsal line with the ground behind it, in degrees: 90 is upright.
    pub(super) fn dorsal_angle(&self, proximal: &str, distal: &str) -> Reckoned {
        let rise = self.height(proximal) - self.height(distal);
        if rise < SAME_MM {
            return Err(Refused::new(format!("points.{proximal}"), format!("must lie above {distal}")));
        }
        Ok(rise.atan2(self.along(distal) - self.along(proximal)).to_degrees())
    }

    /// How much steeper one dorsal line is than another, in degrees.
    pub(super) fn between(&self, one: (&str, &str), other: (&str, &str)) -> Reckoned {
        Ok(self.dorsal_angle(one.0, one.1)? - self.dorsal_angle(other.0, other.1)?)
    }

    /// Over the ground line, which lies on the sole.
    pub(super) fn depth(&self, name: &str) -> Reckoned {
        let height = self.height(name);
        if height < 0.0 {
            return Err(Refused::new(format!("points.{name}"), "lies below the ground line G1, G2"));
        }
        Ok(height)
    }

    /// From the middle of the coffin bone's dorsal cortex to the line of the outer wall.
    pub(super) fn wall_thickness(&self) -> Reckoned {
        let ([ax, ay], [bx, by]) = (self.point("A1"), self.point("A2"));
        let middle = [f64::midpoint(ax, bx), f64::midpoint(ay, by)];
        let (one, two) = (self.point("W1"), self.point("W2"));
        let line = [two[0] - one[0], two[1] - one[1]];
        let length = self.length("W1", "W2")?;
        let across = line[0] * (middle[1] - one[1]) - line[1] * (middle[0] - one[0]);
        Ok(across.abs() / length)
    }

    pub(super) fn wall_ratio(&self) -> Reckoned {
        Ok(self.wall_thickness()? / self.length("T", "N")?)
    }

    /// Support before the centre of rotation over support behind it.
    pub(super) fn support_ratio(&self) -> Reckoned {
        let (breakover, centre, heel) = (self.along("B"), self.along("R"), self.along("H"));
        if breakover - centre < SAME_MM || centre - heel < SAME_MM {
            return Err(Refused::new("points.R", "must lie between H and B"));
        }
        Ok((breakover - centre) / (centre - heel))
    }

    /// How much higher the lateral end of a line is, in degrees.
    pub(super) fn tilt(&self, medial: &str, lateral: &str) -> Reckoned {
        let run = self.along(lateral) - self.along(medial);
        if run < SAME_MM {
            let what =
                format!("must lie at a greater x than {medial}: turn the picture so that lateral is at +x");
            return Err(Refused::new(format!("points.{lateral}"), what));
        }
        Ok((self.height(lateral) - self.height(medial)).atan2(run).to_degrees())
    }

    fn length(&self, one: &str, two: &str) -> Reckoned {
        let ([ax, ay], [bx, by]) = (self.point(one), self.point(two));
        let length = (bx - ax).hypot(by - ay);
        if length < SAME_MM {
            return Err(Refused::new(format!("points.{one}"), format!("is the same as {two}")));
        }
        Ok(length)
    }
}
