package stats

import "fromrest/pkg/uncert"

// StudentOver is by how much a standard uncertainty of df degrees of freedom is to
// be widened so that its normal 95 % interval is Student's.
func StudentOver(df float64) float64 { return TQuantile(uncert.Level, df) / uncert.Z95 }
