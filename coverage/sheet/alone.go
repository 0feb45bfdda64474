package sheet

// Apart sets every piece on sheets of its own, by its layout, which is printed so many times:
// as many layouts and prints as there are pieces.
func (r Room) Apart(pieces []Piece, layouts []Layout, prints []int) Gang {
	var out []GangLayout
	for i, l := range layouts {
		g := GangLayout{Prints: prints[i]}
		area := 0.0
		for _, p := range l.Places {
			area += p.WidthMM * p.HeightMM
			g.Places = append(g.Places, GangPlace{pieces[i].Name, Place{hundredths(p.XMM), hundredths(p.YMM), hundredths(p.WidthMM), hundredths(p.HeightMM), p.Turned}, i})
		}
		g.FillPercent = r.filled(area)
		out = append(out, g)
	}
	return r.finish(out, pieces)
}
