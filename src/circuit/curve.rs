//! Straight lines between points.

/// Straight lines between points in rising order; the end's value beyond the ends.
pub fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let above = points.partition_point(|(at, _)| *at < x);
    match (above.checked_sub(1).map(|below| points[below]), points.get(above)) {
        (Some((x0, y0)), Some((x1, y1))) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
        (Some((_, end)), None) => end,
        (None, Some((_, end))) => *end,
        (None, None) => 0.0,
    }
}
