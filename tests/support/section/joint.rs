//! The joint as it is built: plates, weld metal, face and fusion boundary in
//! the joint frame (mm): origin = joint root, x along the nonbutting surface
//! away from the root on the weld's side, y out of the nonbutting member.

use super::noise;
use super::shapes::*;

/// Which way the members meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// The butting member stands on the nonbutting one at the dihedral angle.
    Tee,
    /// The butting member lies on the nonbutting one; the weld sits on its end face.
    Lap,
}

/// What is asked for, mm and degrees.
#[derive(Clone, Debug)]
pub struct JointSpec {
    pub kind: Kind,
    pub dihedral_deg: f64,
    pub t_nonbutting: f64,
    pub t_butting: f64,
    pub gap: f64,
    pub leg_nonbutting: f64,
    pub leg_butting: f64,
    /// Height of the face over its chord, − for a concave face.
    pub bulge: f64,
    /// How deep the fusion curves reach below each surface, roughly.
    pub depth_nonbutting: f64,
    pub depth_butting: f64,
    /// How far the fusion reaches behind the joint root against the bisector.
    pub root_depth: f64,
    pub undercut_nonbutting: f64,
    pub undercut_butting: f64,
    /// Weld metal that lies unfused on a surface at its toe.
    pub overlap_nonbutting: Option<Nose>,
    pub overlap_butting: Option<Nose>,
    /// Length of the plates past the weld: nonbutting left and right, butting up.
    pub reach: [f64; 3],
    pub passes: usize,
    /// Centre and diameter of round pores.
    pub pores: Vec<(P, f64)>,
    /// Thin gaps in the metal (cracks, scratches): their course and width.
    pub gaps: Vec<(Vec<P>, f64)>,
    pub seed: u64,
}

/// The end of a bead that rolled over its plate without fusing to it.
#[derive(Clone, Copy, Debug)]
pub struct Nose {
    /// From the toe back to where fusion ends, mm.
    pub unfused: f64,
    /// Angle in the air between the plate and the face at the toe, degrees.
    pub angle_deg: f64,
    /// How much of the face it takes up, mm.
    pub size: f64,
    /// Width of the gap under it, mm; 0 where none shows.
    pub gap: f64,
}

/// A run laid over earlier ones: what of the weld lies in the disc is its.
#[derive(Clone, Copy, Debug)]
pub struct Run {
    pub centre: P,
    pub radius: f64,
    /// Where its columnar grains point to.
    pub heart: P,
}

/// The built joint.
#[derive(Clone, Debug)]
pub struct Joint {
    pub spec: JointSpec,
    /// Unit vector along the butting surface, away from the root.
    pub up: P,
    /// Unit normal of the butting surface, towards the weld.
    pub out: P,
    pub nonbutting: Vec<P>,
    pub butting: Vec<P>,
    /// From the butting toe to the nonbutting toe.
    pub face: Vec<P>,
    /// From the nonbutting toe (or undercut bottom) round the root to the other.
    pub fusion: Vec<P>,
    /// Outer boundary of the weld metal.
    pub weld: Vec<P>,
    /// Undercut grooves: air below an original surface.
    pub grooves: Vec<Vec<P>>,
    /// First run first; the first is what the later ones left.
    pub runs: Vec<Run>,
    /// Where the faying line meets the weld metal.
    pub faying_end: f64,
}

const FACE_POINTS: usize = 96;
const FUSION_POINTS: usize = 72;

impl Joint {
    pub fn build(spec: JointSpec) -> Self {
        let psi = spec.dihedral_deg.to_radians();
        let up = [psi.cos(), psi.sin()];
        let out = [psi.sin(), -psi.cos()];
        let (nonbutting, butting) = plates(&spec, up, out);

        let toe_n = [spec.leg_nonbutting, 0.0];
        let toe_b = scale(up, spec.leg_butting);
        let mut face = face(&spec, toe_b, toe_n);
        let mut spec = spec;

        let (mut grooves, mut lead_n, mut lead_b) = (Vec::new(), vec![toe_n], vec![toe_b]);
        if spec.undercut_nonbutting > 0.0 {
            let (groove, inner) = groove(toe_n, [1.0, 0.0], [0.0, -1.0], spec.undercut_nonbutting);
            grooves.push(groove);
            lead_n = inner;
        }
        if spec.undercut_butting > 0.0 {
            let (groove, inner) = groove(toe_b, up, scale(out, -1.0), spec.undercut_butting);
            grooves.push(groove);
            lead_b = inner;
        }
        if let Some(nose) = spec.overlap_nonbutting {
            face = rolled(&face, nose, [1.0, 0.0], [0.0, 1.0]);
            lead_n = unfused(&mut spec, nose, toe_n, [1.0, 0.0]);
        }
        if let Some(nose) = spec.overlap_butting {
            face.reverse();
            face = rolled(&face, nose, up, out);
            face.reverse();
            lead_b = unfused(&mut spec, nose, toe_b, up);
        }
        let fusion = fusion(
            &spec,
            up,
            lead_n[lead_n.len() - 1],
            lead_b[lead_b.len() - 1],
        );

        let mut weld = face.clone();
        weld.extend(&lead_n[1..]);
        weld.extend(&fusion[1..fusion.len() - 1]);
        weld.extend(lead_b[1..].iter().rev());

        let runs = runs(&spec, up, &face);
        let level = spec.gap / 2.0;
        let faying_end = fusion
            .windows(2)
            .filter(|w| (w[0][1] > level) != (w[1][1] > level))
            .map(|w| mix(w[0], w[1], (level - w[0][1]) / (w[1][1] - w[0][1]))[0])
            .fold(f64::INFINITY, f64::min);
        Self {
            spec,
            up,
            out,
            nonbutting,
            butting,
            face,
            fusion,
            weld,
            grooves,
            runs,
            faying_end,
        }
    }

    /// Which run is on top at `p` (0 = first) and how far the nearest border
    /// between runs is.
    pub fn run_at(&self, p: P) -> (usize, f64) {
        let mut nearest = f64::INFINITY;
        for (i, run) in self.runs.iter().enumerate().skip(1).rev() {
            let d = length(sub(p, run.centre)) - run.radius;
            nearest = nearest.min(d.abs());
            if d < 0.0 {
                return (i, nearest);
            }
        }
        (0, nearest)
    }
}

fn plates(spec: &JointSpec, up: P, out: P) -> (Vec<P>, Vec<P>) {
    let [left, right, reach] = spec.reach;
    let nonbutting = vec![
        [-left, 0.0],
        [spec.leg_nonbutting + right, 0.0],
        [spec.leg_nonbutting + right, -spec.t_nonbutting],
        [-left, -spec.t_nonbutting],
    ];
    let butting = match spec.kind {
        Kind::Tee => {
            let foot = scale(up, spec.gap / up[1]);
            let head = scale(up, spec.leg_butting + reach);
            let back = scale(out, -spec.t_butting);
            let rear = add(back, scale(up, (spec.gap - back[1]) / up[1]));
            vec![foot, head, add(head, back), rear]
        }
        Kind::Lap => vec![
            [0.0, spec.gap],
            scale(up, (spec.gap + spec.t_butting) / up[1]),
            [-left - 2.0, spec.gap + spec.t_butting],
            [-left - 2.0, spec.gap],
        ],
    };
    (nonbutting, butting)
}

/// The face: its chord, bulged, with a few shallow ripples that die out at
/// the toes.
fn face(spec: &JointSpec, from: P, to: P) -> Vec<P> {
    let chord = sub(to, from);
    // Turned from the chord (butting to nonbutting toe) towards the air.
    let outward = scale([-chord[1], chord[0]], 1.0 / length(chord));
    let mut s = noise::Stream::new(spec.seed ^ 0xface);
    let lean = s.between(-0.2, 0.2);
    let ripple = s.between(0.008, 0.02) * length(chord).min(8.0) / 4.0;
    let waves = if spec.passes > 1 {
        spec.passes as f64
    } else {
        2.0
    };
    let phase = s.between(0.0, 3.0);
    (0..=FACE_POINTS)
        .map(|i| {
            let t = i as f64 / FACE_POINTS as f64;
            let bow = 4.0 * t * (1.0 - t);
            let height = spec.bulge * bow * (1.0 + lean * (2.0 * t - 1.0))
                + ripple * bow * (std::f64::consts::TAU * waves * t + phase).sin();
            add(mix(from, to, t), scale(outward, height))
        })
        .collect()
}

/// An undercut groove beside a toe: (outline of the air below the surface,
/// the weld's own side of it from the toe to the bottom).
fn groove(toe: P, away: P, inward: P, depth: f64) -> (Vec<P>, Vec<P>) {
    let width = 2.6 * depth;
    let wall: Vec<P> = (0..=16)
        .map(|i| {
            let t = i as f64 / 16.0;
            let d = depth * (std::f64::consts::PI * t).sin().powf(0.8);
            add(toe, add(scale(away, width * t), scale(inward, d)))
        })
        .collect();
    let inner = wall[..=8].to_vec();
    (wall, inner)
}

/// A face whose end comes down on the plate as a nose.
fn rolled(face: &[P], nose: Nose, away: P, out: P) -> Vec<P> {
    let toe = face[face.len() - 1];
    let keep = face
        .iter()
        .rposition(|p| length(sub(*p, toe)) > nose.size)
        .unwrap_or(1)
        .max(1);
    let from = face[keep];
    let run = sub(from, face[keep - 1]);
    let reach = length(sub(toe, from)) / 2.5;
    let (s, c) = nose.angle_deg.to_radians().sin_cos();
    let rise = add(scale(away, c), scale(out, s));
    let mut rolled = face[..keep].to_vec();
    rolled.extend(bezier(
        [
            from,
            add(from, scale(run, reach / length(run))),
            add(toe, scale(rise, reach)),
            toe,
        ],
        24,
    ));
    rolled
}

/// The way from the toe to where fusion ends; its gap is painted with the others.
fn unfused(spec: &mut JointSpec, nose: Nose, toe: P, away: P) -> Vec<P> {
    let end = sub(toe, scale(away, nose.unfused));
    if nose.gap > 0.0 {
        spec.gaps.push((vec![toe, end], nose.gap));
    }
    vec![toe, mix(toe, end, 0.5), end]
}

/// The fusion boundary: two Bézier curves that meet behind the joint root,
/// with a slow wobble.
fn fusion(spec: &JointSpec, up: P, start: P, end: P) -> Vec<P> {
    let half = spec.dihedral_deg.to_radians() / 2.0;
    let behind = [-half.cos() * spec.root_depth, -half.sin() * spec.root_depth];
    let side = [half.sin(), -half.cos()];
    let (zn, zb) = (spec.leg_nonbutting, spec.leg_butting);
    let into_butting = [-up[1], up[0]];
    let lower = bezier(
        [
            start,
            add(start, [-0.22 * zn, -1.25 * spec.depth_nonbutting]),
            add(behind, scale(side, 0.32 * zn)),
            behind,
        ],
        FUSION_POINTS / 2,
    );
    let upper = bezier(
        [
            behind,
            add(behind, scale(side, -0.32 * zb)),
            add(
                end,
                add(
                    scale(up, -0.22 * zb),
                    scale(into_butting, 1.25 * spec.depth_butting),
                ),
            ),
            end,
        ],
        FUSION_POINTS / 2,
    );
    let mut path = lower;
    path.extend(&upper[1..]);
    let n = path.len();
    let smooth = path.clone();
    for i in 1..n - 1 {
        let along = sub(smooth[i + 1], smooth[i - 1]);
        let normal = scale([-along[1], along[0]], 1.0 / length(along));
        let t = i as f64 / (n - 1) as f64;
        let fade = (std::f64::consts::PI * t).sin();
        let wobble = 0.10 * noise::value(spec.seed ^ 0xf0, 9.0 * t, 0.5)
            + 0.04 * noise::value(spec.seed ^ 0xf1, 23.0 * t, 0.5);
        path[i] = add(
            path[i],
            scale(normal, wobble * fade * (zn.min(zb) / 6.0).min(1.0)),
        );
    }
    path
}

/// Runs: a root run, then one on the nonbutting side, then one on top.
fn runs(spec: &JointSpec, up: P, face: &[P]) -> Vec<Run> {
    let toe_n = [spec.leg_nonbutting, 0.0];
    let toe_b = scale(up, spec.leg_butting);
    let middle = face[face.len() / 2];
    let chord = length(sub(toe_n, toe_b));
    let away = scale(middle, 1.0 / length(middle));
    let mut runs = vec![Run {
        centre: [0.0, 0.0],
        radius: f64::INFINITY,
        heart: add(middle, scale(away, 0.12 * chord)),
    }];
    let mut s = noise::Stream::new(spec.seed ^ 0x9a55);
    let mut lay = |toe: P, size: f64| {
        let centre = add(
            mix(toe, middle, s.between(0.30, 0.42)),
            scale(away, 0.10 * chord),
        );
        let radius = chord * size * s.between(0.95, 1.05);
        runs.push(Run {
            centre,
            radius,
            heart: add(centre, scale(away, 0.08 * chord)),
        });
    };
    match spec.passes {
        0 | 1 => {}
        2 => lay(toe_b, 0.50),
        _ => {
            lay(toe_n, 0.44);
            lay(toe_b, 0.46);
        }
    }
    if spec.passes > 1 {
        // The root run was laid before the cover: its grains point at its own face.
        runs[0].heart = scale(middle, 0.9);
    }
    runs
}
