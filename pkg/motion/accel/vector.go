package accel

import "math"

// Dot is the scalar product of two vectors.
func Dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// Cross is the vector product of two vectors.
func Cross(a, b [3]float64) [3]float64 {
	return [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
}

// Norm is the length of a vector.
func Norm(v [3]float64) float64 { return math.Sqrt(Dot(v, v)) }

// Unit is the unit vector in the direction of v.
func Unit(v [3]float64) [3]float64 {
	n := Norm(v)
	return [3]float64{v[0] / n, v[1] / n, v[2] / n}
}

// Angle is the angle between two vectors in rad.
func Angle(a, b [3]float64) float64 { return math.Atan2(Norm(Cross(a, b)), Dot(a, b)) }

// Without is v less its part along the unit vector u, v where u is zero.
func Without(v, u [3]float64) [3]float64 {
	s := Dot(v, u)
	for j := range v {
		v[j] -= s * u[j]
	}
	return v
}
