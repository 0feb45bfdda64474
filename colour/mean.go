package colour

// Mean is what an eye sees of small areas of some colours side by side, from so far that it
// does not tell them apart: their mean in XYZ, weighted by area (Grassmann's laws of
// additive mixture), absolute under D50 as they are. Shares are of any sum above 0, one for
// each colour; more of either than of the other are not looked at, and no colours make
// black. From near by the areas are seen, and their mean is not.
func Mean(of []Lab, shares []float64) Lab {
	if len(of) == 1 && len(shares) == 1 {
		return of[0] // to the last digit
	}
	var x XYZ
	sum := 0.0
	for i := range min(len(of), len(shares)) {
		v := of[i].XYZ(D50)
		x.X, x.Y, x.Z = x.X+shares[i]*v.X, x.Y+shares[i]*v.Y, x.Z+shares[i]*v.Z
		sum += shares[i]
	}
	if sum <= 0 {
		return Lab{}
	}
	return XYZ{x.X / sum, x.Y / sum, x.Z / sum}.Lab(D50)
}
