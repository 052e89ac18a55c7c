package rig

import (
	"fmt"
	"math"
)

// Covariance is that of the two parameters of a [Line].
type Covariance struct {
	Intercept float64 `json:"intercept"` // variance
	Cross     float64 `json:"cross"`     // covariance of both
	Slope     float64 `json:"slope"`     // variance
}

// at is the variance of the line at a distance from its origin (JCGM 100:2008, H.15).
func (c Covariance) at(distance float64) float64 {
	return c.Intercept + distance*(2*c.Cross+distance*c.Slope)
}

// add adds the outer product of a shift that one common error causes.
func (c *Covariance) add(intercept, slope float64) {
	c.Intercept += intercept * intercept
	c.Cross += intercept * slope
	c.Slope += slope * slope
}

// scale multiplies by a variance ratio.
func (c *Covariance) scale(factor float64) {
	c.Intercept *= factor
	c.Cross *= factor
	c.Slope *= factor
}

// Line is a straight line y = Intercept + Slope·(x − Origin) fitted to points.
type Line struct {
	Origin     float64    `json:"origin"`
	Intercept  float64    `json:"intercept"`
	Slope      float64    `json:"slope"`
	Covariance Covariance `json:"covariance"`
	// Residual is the standard deviation of the residuals, in the unit of y.
	Residual float64 `json:"residual"`
	// Dof are the degrees of freedom of the residuals: the points less two.
	Dof float64 `json:"dof"`
	// Birge is what the residuals are over what the points stated of themselves; 0 when
	// they stated nothing.
	Birge float64 `json:"birge,omitempty"`
	// Stated tells that the covariance rests on what the points stated of themselves,
	// not on their scatter.
	Stated bool `json:"stated,omitempty"`
}

// FitLine fits a line by least squares. Where u is empty the points weigh the same and
// the scatter of the residuals is the only witness of their uncertainty
// (JCGM 100:2008, H.3). Else u holds the standard uncertainty of each y: the points are
// weighed with it, and if they scatter more than they state, their scatter counts.
func FitLine(x, y, u []float64, origin float64) (Line, error) {
	if len(x) < 3 || len(x) != len(y) || (len(u) > 0 && len(u) != len(x)) {
		return Line{}, fmt.Errorf("fit line: %d x, %d y and %d uncertainties, want at least 3 x and as many of the others", len(x), len(y), len(u))
	}
	weight := func(int) float64 { return 1 }
	if len(u) > 0 {
		weight = func(i int) float64 { return 1 / (u[i] * u[i]) }
	}
	// About the centre of the points the two parameters do not depend on each other and
	// no digits are lost to a far origin.
	var sum, cx, cy float64
	for i := range x {
		w := weight(i)
		sum += w
		cx += w * x[i]
		cy += w * y[i]
	}
	cx, cy = cx/sum, cy/sum
	var sxx, sxy float64
	for i := range x {
		w, dx := weight(i), x[i]-cx
		sxx += w * dx * dx
		sxy += w * dx * (y[i] - cy)
	}
	if !(sxx > 0) || !finite(sxy) {
		return Line{}, fmt.Errorf("fit line: all %d points have the same x, or one is not a number", len(x))
	}
	l := Line{Origin: origin, Slope: sxy / sxx, Dof: float64(len(x) - 2)}
	l.Intercept = cy + l.Slope*(origin-cx)
	var plain, weighed float64
	for i := range x {
		r := y[i] - cy - l.Slope*(x[i]-cx)
		plain += r * r
		weighed += r * r * weight(i)
	}
	l.Residual = math.Sqrt(plain / l.Dof)
	factor := weighed / l.Dof
	if len(u) > 0 {
		l.Birge, l.Stated = math.Sqrt(factor), factor <= 1
		factor = max(factor, 1)
	}
	l.Covariance = centred(1/sum, 1/sxx, origin-cx)
	l.Covariance.scale(factor)
	return l, nil
}

// centred moves the covariance of a line from the centre of its points to an origin.
func centred(mean, slope, distance float64) Covariance {
	return Covariance{Intercept: mean + distance*distance*slope, Cross: distance * slope, Slope: slope}
}

// Value returns y on the line.
func (l Line) Value(x float64) float64 { return l.Intercept + l.Slope*(x-l.Origin) }

// At returns y on the line with its standard uncertainty, the correlation of the two
// parameters included.
func (l Line) At(x float64) Result {
	return Result{Measured: Measured{l.Value(x), math.Sqrt(l.Covariance.at(x - l.Origin))}, Dof: l.witnesses()}
}

// Correlation returns the correlation coefficient of intercept and slope.
func (l Line) Correlation() float64 {
	return l.Covariance.Cross / math.Sqrt(l.Covariance.Intercept*l.Covariance.Slope)
}

// witnesses are the degrees of freedom of the covariance: those of the residuals where
// it rests on them, many where it rests on what the points stated.
func (l Line) witnesses() float64 {
	if l.Stated {
		return 0
	}
	return l.Dof
}
