package kernel

// passAll is the window and all passes of radix 4. Like the others below it hands
// bare pointers to the assembly: Add and transform have checked all lengths.
func (p *PowerPlan) passAll(a, b, window []float32, work []Lanes) {
	if !hasAVX2 {
		p.passAllGo(a, b, window, work)
		return
	}
	first := &p.passes[0]
	fftFirst(&work[0].Re, &a[0], &b[0], &window[0], &first.turns[0], first.quarter)
	for quarter := range 4 {
		at := &work[quarter*first.quarter].Re
		for i := range p.passes[1:] {
			if pass := &p.passes[1+i]; pass.quarter > 1 {
				fftPass(at, &pass.turns[0], pass.quarter, first.quarter/4/pass.quarter)
			} else {
				fftPlain(at, first.quarter/4)
			}
		}
	}
}

// addPowers joins the lanes and adds their powers.
func (p *PowerPlan) addPowers(power []float64, work []Lanes) {
	switch {
	case !hasAVX2:
		p.addPowersGo(power, work)
	case p.paired:
		fftPowersPaired(&power[0], &work[0].Re, &p.twist[0].Re, p.n/64)
	default:
		fftPowers(&power[0], &work[0].Re, &p.twist[0].Re, p.n/64)
	}
}

// finish joins the lanes and leaves place i in row i/8, lane i mod 8.
func (p *PowerPlan) finish(work []Lanes) {
	switch {
	case !hasAVX2:
		p.finishGo(work)
	case p.paired:
		fftFinishPaired(&work[0].Re, &p.twist[0].Re, p.n/64)
	default:
		fftFinish(&work[0].Re, &p.twist[0].Re, p.n/64)
	}
}
