package scan

// offWords reads the numbers of an OFF text one by one, wherever its lines end.
type offWords struct {
	o     *offReader
	lines *lines
	line  []byte
}

// tooFewLines tells a text that has not a line for each of its points and faces.
func (o *offReader) tooFewLines(l lines) bool {
	for range o.head.points + o.head.faces {
		if _, ok := offLine(&l); !ok {
			return true
		}
	}
	return false
}

// words reads points and faces that lie on lines as they like. Each point has as many numbers as the keyword tells,
// four of them for a colour, and faces have no colours. Nothing may be left over: the counts alone hold the numbers
// together.
func (o *offReader) words(l *lines) error {
	w := &offWords{o: o, lines: l}
	o.build.wide = make([][3]float64, o.head.points)
	for i := range o.build.wide {
		for axis := range 3 {
			c, err := w.next()
			if err != nil {
				return err
			}
			v, ok := number(c, '.')
			if !ok {
				return o.in.onLine(l.no, exportAgain, "a point needs three numbers, and %s is none", shown(c))
			}
			o.build.wide[i][axis] = v
		}
		for range o.head.extra {
			if _, err := w.next(); err != nil {
				return err
			}
		}
	}
	for range o.head.faces {
		if err := w.face(); err != nil {
			return err
		}
	}
	if _, err := w.next(); err == nil {
		return o.in.onLine(l.no, exportAgain, "numbers are left over after the %d points and %d faces that it promises, and it has not a line for each", o.head.points, o.head.faces)
	}
	return nil
}

// next returns the next word of the text.
func (w *offWords) next() ([]byte, error) {
	for {
		c, rest := word(w.line)
		if len(c) > 0 {
			w.line = rest
			return c, nil
		}
		var err error
		if w.line, err = w.o.line(w.lines); err != nil {
			return nil, err
		}
	}
}

// face reads how many corners a face has and their numbers.
func (w *offWords) face() error {
	c, err := w.next()
	if err != nil {
		return err
	}
	corners, ok := wholeNumber(c)
	if !ok || corners < 0 {
		return w.o.in.onLine(w.lines.no, exportAgain, "a face should begin with the number of its corners, and %s is none", shown(c))
	}
	w.o.list = w.o.list[:0]
	for range corners {
		if c, err = w.next(); err != nil {
			return err
		}
		n, ok := wholeNumber(c)
		if !ok || n < 0 || n >= w.o.head.points {
			return w.o.in.onLine(w.lines.no, exportAgain, "a face uses point %s, but the points are numbered 0 to %d", shown(c), w.o.head.points-1)
		}
		w.o.list = append(w.o.list, uint32(n))
	}
	return w.o.fan()
}
