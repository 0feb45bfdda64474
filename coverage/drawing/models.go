package drawing

// The models are drawn with x = 0 in the middle. What is alike on both sides is given as its
// right half, from the axis back to it.

func move(x, y float64) Step { return Step{'M', [][2]float64{{x, y}}} }
func line(x, y float64) Step { return Step{'L', [][2]float64{{x, y}}} }
func curve(ax, ay, bx, by, x, y float64) Step {
	return Step{'C', [][2]float64{{ax, ay}, {bx, by}, {x, y}}}
}

// closed is a path that returns to its start.
func closed(steps ...Step) Path { return append(Path(steps), Step{Do: 'Z'}) }

// flipped is a path on the other side of the axis.
func (p Path) flipped() Path { return p.scaled(-1, 1) }

// even is the closed path whose right half begins and ends on the axis.
func even(half ...Step) Path {
	out := append(Path{}, half...)
	left := Path(half).flipped()
	for i := len(left) - 1; i > 0; i-- {
		s, before := left[i], left[i-1].Points[len(left[i-1].Points)-1]
		if s.Do == 'C' {
			s.Points = [][2]float64{s.Points[1], s.Points[0], before}
		} else {
			s.Points = [][2]float64{before}
		}
		out = append(out, s)
	}
	return append(out, Step{Do: 'Z'})
}

// both are lines on either side.
func both(paths ...Path) (parts []Part) {
	for _, p := range paths {
		parts = append(parts, Part{Path: p}, Part{Path: p.flipped()})
	}
	return parts
}

// oblong is a rectangle around the axis with rounded corners.
func oblong(w, top, h, r float64) Path {
	const k = 0.5523 // of a circle's quarter as a cubic curve
	x, in, bottom := w/2, r*(1-k), top+h
	return even(move(0, top), line(x-r, top), curve(x-in, top, x, top+in, x, top+r), line(x, bottom-r),
		curve(x, bottom-in, x-in, bottom, x-r, bottom), line(0, bottom))
}

// models are the kinds by name. They are never changed.
var models = map[string]model{
	Tee: tee(), Hoodie: hoodie(), Cap: peaked(), Mug: mug(), Tumbler: tumbler(), Window: window(), Skin: skin(),
	Plate: flat(200, 150, 4),
	Card:  flat(85.6, 53.98, 3.18), // ID-1 of ISO/IEC 7810
	Plain: flat(200, 200, 0),
}

// flat is a piece with a rim of nothing else.
func flat(w, h, r float64) model {
	body := oblong(w, 0, h, r)
	return model{width: w, height: h, body: body, front: []Part{{body, Bare}}, spots: []spot{{name: Front, y: h / 2}}}
}

// tee is 520 mm wide under the arms and 720 mm long, laid flat. Prints on the chest begin
// about 80 mm under the collar, those on one side of it are about 100 mm off the middle.
func tee() model {
	neck := func(drop float64) Step { return curve(55, drop, 90, drop*0.6, 95, 0) }
	sides := []Step{line(225, 42), curve(300, 75, 355, 125, 404, 190), line(288, 300), line(258, 238),
		curve(253, 400, 257, 580, 260, 704), curve(190, 718, 90, 720, 0, 720)}
	front := even(append([]Step{move(0, 78), neck(78)}, sides...)...)
	back := even(append([]Step{move(0, 16), neck(16)}, sides...)...)
	collar := even(move(0, 16), neck(16), curve(90, 47, 55, 78, 0, 78))
	seams := both(Path{move(225, 42), curve(242, 110, 252, 180, 258, 238)}, Path{move(392, 175), line(276, 284)},
		Path{move(259.5, 686), curve(190, 700, 90, 702, 0, 702)})
	rib := func(drop float64) []Part { return both(Path{move(114, 7), curve(106, drop*0.62+6, 64, drop, 0, drop)}) }
	return model{width: 520, height: 720, body: front,
		front: concat([]Part{{collar, Shaded}, {front, Bare}}, rib(97), seams),
		back:  concat([]Part{{back, Bare}}, rib(34), seams),
		spots: []spot{{name: Chest, y: 158, hangs: true}, {name: LeftChest, x: 98, y: 165, hangs: true}, {name: RightChest, x: -98, y: 165, hangs: true},
			{name: Back, y: 120, hangs: true, behind: true}}}
}

// hoodie is 560 mm wide and 680 mm long from the shoulder.
func hoodie() model {
	body := even(move(0, -250), curve(88, -250, 146, -205, 148, -110), curve(148, -62, 138, -28, 118, 0), line(240, 42),
		curve(320, 78, 352, 180, 376, 310), line(428, 596), line(436, 650), line(360, 662), line(352, 610), line(282, 262),
		curve(277, 400, 279, 520, 280, 616), curve(280, 646, 272, 664, 266, 680), line(0, 680))
	hole := even(move(0, -206), curve(66, -206, 102, -160, 100, -98), curve(97, -40, 60, 20, 0, 62))
	seams := both(Path{move(240, 42), curve(262, 110, 276, 190, 282, 262)}, Path{move(428, 596), line(352, 610)}, Path{move(280, 616), line(0, 616)})
	front := both(Path{move(118, 0), curve(96, 30, 50, 62, 0, 62)}, Path{move(26, 52), curve(30, 90, 32, 120, 30, 150)},
		Path{move(0, 395), line(100, 395), line(168, 500), line(168, 616)})
	behind := both(Path{move(118, 0), curve(92, 34, 44, 48, 0, 48)}, Path{move(0, -250), line(0, 48)})
	return model{width: 560, height: 680, body: body,
		front: concat([]Part{{body, Bare}, {hole, Shaded}}, seams, front),
		back:  concat([]Part{{body, Bare}}, seams, behind),
		spots: []spot{{name: Chest, y: 165, hangs: true}, {name: LeftChest, x: 105, y: 140, hangs: true}, {name: RightChest, x: -105, y: 140, hangs: true},
			{name: Back, y: 110, hangs: true, behind: true}}}
}

// peaked is a cap with a peak, 176 mm wide as it is seen from the front.
func peaked() model {
	crown := even(move(0, 0), curve(58, 0, 86, 46, 88, 116), curve(60, 107, 30, 104, 0, 104))
	peak := even(move(0, 104), curve(30, 104, 60, 107, 88, 116), curve(104, 134, 110, 152, 104, 164), curve(78, 140, 40, 132, 0, 132))
	button := even(move(0, -5), curve(5, -5, 9, -3, 9, 0), line(0, 0))
	lines := both(Path{move(26, 3), curve(50, 26, 60, 66, 62, 109)}, Path{move(0, 110), curve(34, 110, 66, 114, 94, 126)}, Path{move(0, 118), curve(38, 118, 74, 124, 101, 140)})
	return model{width: 176, height: 164, body: crown, front: concat([]Part{{button, Bare}, {crown, Bare}, {peak, Bare}}, lines),
		spots: []spot{{name: Front, y: 60}}}
}

// cup is a round body under an open rim.
func cup(d, h, lip float64) (body, rim Path) {
	r := d / 2
	body = closed(move(-r, 0), line(-r, h-lip), curve(-r, h+lip/3, r, h+lip/3, r, h-lip), line(r, 0), curve(r, lip*4/3, -r, lip*4/3, -r, 0))
	rim = closed(move(-r, 0), curve(-r, -lip*4/3, r, -lip*4/3, r, 0), curve(r, lip*4/3, -r, lip*4/3, -r, 0))
	return body, rim
}

// mug is 82 mm wide and 95 mm high, its handle on the right.
func mug() model {
	body, rim := cup(82, 95, 4)
	handle := closed(move(38, 20), curve(76, 10, 82, 82, 38, 76), line(38, 66), curve(66, 70, 64, 24, 38, 30))
	return model{width: 82, height: 95, round: true, body: body, front: []Part{{handle, Bare}, {body, Bare}, {rim, Shaded}}, spots: []spot{{name: Front, y: 49}}}
}

// tumbler is 73 mm wide and 170 mm high under its lid.
func tumbler() model {
	body, rim := cup(73, 170, 3)
	lid := closed(move(-36.5, 0), line(-34, -10), curve(-32, -14, 32, -14, 34, -10), line(36.5, 0), curve(36.5, 4, -36.5, 4, -36.5, 0))
	return model{width: 73, height: 170, round: true, body: body, front: []Part{{body, Bare}, {rim, Shaded}, {lid, Frame}}, spots: []spot{{name: Front, y: 86}}}
}

// window is a pane of 400 × 500 mm in its frame.
func window() model {
	pane := oblong(400, 0, 500, 0)
	return model{width: 400, height: 500, body: pane, front: []Part{{oblong(460, -30, 560, 3), Frame}, {oblong(520, 530, 24, 3), Frame}, {pane, Bare}},
		spots: []spot{{name: Front, y: 250}}}
}

// skin is a forearm and its hand, 96 mm wide under the elbow.
func skin() model {
	arm := closed(move(-46, 0), curve(-54, 60, -49, 130, -39, 195), curve(-34, 225, -31, 245, -30, 262), curve(-33, 285, -43, 305, -44, 330),
		curve(-45, 352, -43, 374, -39, 396), curve(-36, 428, -28, 446, -10, 448), curve(10, 450, 25, 441, 27, 414), curve(28, 396, 30, 380, 31, 362),
		curve(38, 374, 46, 388, 54, 396), curve(62, 404, 73, 396, 68, 383), curve(61, 364, 54, 340, 46, 318), curve(39, 300, 32, 285, 30, 262),
		curve(31, 245, 34, 225, 39, 195), curve(49, 130, 54, 60, 46, 0))
	return model{width: 96, height: 449, body: arm, front: []Part{{arm, Bare}, {Path{move(-21, 385), line(-22, 440)}, Unfilled}, {Path{move(-4, 388), line(-3, 446)}, Unfilled},
		{Path{move(13, 385), line(14, 443)}, Unfilled}, {Path{move(31, 362), curve(26, 352, 22, 342, 20, 330)}, Unfilled}}, spots: []spot{{name: Front, y: 110}}}
}

func concat(lists ...[]Part) (out []Part) {
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}
