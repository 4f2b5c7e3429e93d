//! Points and vectors that carry their frame in the type.

use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, Mul, Neg, Sub};

/// The photograph after EXIF orientation: x right, y down, in pixels; the
/// centre of the first pixel is (0.5, 0.5).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Px {}

/// The measured plane, in millimetres: x right and y down as pictured (no
/// mirroring), origin wherever the scale reference put it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mm {}

/// The joint, in millimetres: origin at the joint root, x along the nonbutting
/// member's surface away from the root on the weld's side, y out of that
/// member on the weld's side. A mirrored photograph does not mirror it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Joint {}

/// A position in frame `F`.
pub struct Point<F> {
    /// First coordinate, in the frame's unit.
    pub x: f64,
    /// Second coordinate, in the frame's unit.
    pub y: f64,
    frame: PhantomData<F>,
}

/// A displacement in frame `F`.
pub struct Vector<F> {
    /// First component, in the frame's unit.
    pub x: f64,
    /// Second component, in the frame's unit.
    pub y: f64,
    frame: PhantomData<F>,
}

impl<F> Point<F> {
    /// The point (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            frame: PhantomData,
        }
    }

    /// The point at `t` on the way from `self` (0) to `other` (1).
    pub fn lerp(self, other: Self, t: f64) -> Self {
        Self::new(
            self.x + (other.x - self.x) * t,
            self.y + (other.y - self.y) * t,
        )
    }

    /// Distance to `other`, in the frame's unit.
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// `[x, y]`, for the record.
    pub fn to_array(self) -> [f64; 2] {
        [self.x, self.y]
    }
}

impl<F> Vector<F> {
    /// The vector (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            frame: PhantomData,
        }
    }

    /// The unit vector at `angle` radians from +x towards +y.
    pub fn from_angle(angle: f64) -> Self {
        Self::new(angle.cos(), angle.sin())
    }

    /// Length, in the frame's unit.
    pub fn length(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Angle in radians from +x towards +y, in (−π, π].
    pub fn angle(self) -> f64 {
        self.y.atan2(self.x)
    }

    /// The same direction with length 1; the zero vector stays zero.
    pub fn unit(self) -> Self {
        let length = self.length();
        if length > 0.0 {
            self * (1.0 / length)
        } else {
            self
        }
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// z-component of the cross product: positive when `other` is turned from
    /// `self` towards +y (clockwise as pictured in a y-down frame).
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Turned by a quarter from +x towards +y.
    pub fn turned(self) -> Self {
        Self::new(-self.y, self.x)
    }
}

impl<F> Clone for Point<F> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<F> Copy for Point<F> {}
impl<F> PartialEq for Point<F> {
    fn eq(&self, other: &Self) -> bool {
        self.x == other.x && self.y == other.y
    }
}
impl<F> fmt::Debug for Point<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({:.4}, {:.4})", self.x, self.y)
    }
}
impl<F> Clone for Vector<F> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<F> Copy for Vector<F> {}
impl<F> PartialEq for Vector<F> {
    fn eq(&self, other: &Self) -> bool {
        self.x == other.x && self.y == other.y
    }
}
impl<F> fmt::Debug for Vector<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "<{:.4}, {:.4}>", self.x, self.y)
    }
}
impl<F> Sub for Point<F> {
    type Output = Vector<F>;
    fn sub(self, other: Self) -> Vector<F> {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}
impl<F> Add<Vector<F>> for Point<F> {
    type Output = Self;
    fn add(self, v: Vector<F>) -> Self {
        Self::new(self.x + v.x, self.y + v.y)
    }
}
impl<F> Sub<Vector<F>> for Point<F> {
    type Output = Self;
    fn sub(self, v: Vector<F>) -> Self {
        Self::new(self.x - v.x, self.y - v.y)
    }
}
impl<F> Add for Vector<F> {
    type Output = Self;
    fn add(self, v: Self) -> Self {
        Self::new(self.x + v.x, self.y + v.y)
    }
}
impl<F> Sub for Vector<F> {
    type Output = Self;
    fn sub(self, v: Self) -> Self {
        Self::new(self.x - v.x, self.y - v.y)
    }
}
impl<F> Mul<f64> for Vector<F> {
    type Output = Self;
    fn mul(self, k: f64) -> Self {
        Self::new(self.x * k, self.y * k)
    }
}
impl<F> Neg for Vector<F> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}
