package main

import (
	"bufio"
	"bytes"
	"embed"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

//go:embed rivals
var sources embed.FS

// The curve and where every fit begins.
const (
	trueA, trueK, trueC = 2500.0, 0.25, 15.0 // Pa, 1/s, Pa
	startA, startC      = 2000.0, 0.0
	seconds             = 12.0
	agreed              = 1e-6 // relative, in k
)

// readings of one exponential with noise of 1 Pa.
type readings struct {
	t, y []float64
	even bool
}

func newReadings(n int, even bool, seed uint64) readings {
	r := readings{t: make([]float64, n), y: make([]float64, n), even: even}
	random := rand.New(rand.NewPCG(seed, uint64(n)))
	for i := range n {
		r.t[i] = seconds / float64(n) * float64(i)
		if !even && i > 0 {
			r.t[i] = seconds * random.Float64()
		}
	}
	slices.Sort(r.t)
	for i, t := range r.t {
		r.y[i] = trueA*math.Exp(-trueK*t) + trueC + random.NormFloat64()
	}
	return r
}

func (r readings) String() string {
	if r.even {
		return fmt.Sprintf("%d on a grid", len(r.y))
	}
	return fmt.Sprintf("%d at any times", len(r.y))
}

// write writes a reading a line, to the last digit.
func (r readings) write(file string) error {
	var b bytes.Buffer
	for i, t := range r.t {
		fmt.Fprintf(&b, "%v %v\n", t, r.y[i])
	}
	return os.WriteFile(file, b.Bytes(), 0o600)
}

// rival is the command that fits a file of readings.
type rival []string

// findRivals compiles and looks for what the machine has, and says what it has not.
func findRivals(dir string, o options) (found []rival, missing []string) {
	if program, err := compile(dir, o.cc); err != nil {
		missing = append(missing, fmt.Sprintf("GSL (on Debian: apt-get install gcc libgsl-dev): %v", err))
	} else {
		found = append(found, rival{program})
	}
	script := filepath.Join(dir, "curvefit.py")
	if python, err := findPython(o.python); err != nil {
		missing = append(missing, fmt.Sprintf("SciPy (on Debian: apt-get install python3-scipy): %v", err))
	} else if err := unpack("rivals/curvefit.py", script); err != nil {
		missing = append(missing, err.Error())
	} else {
		found = append(found, rival{python, script})
	}
	return found, missing
}

func unpack(name, to string) error {
	b, err := sources.ReadFile(name)
	if err != nil {
		return err
	}
	return os.WriteFile(to, b, 0o600)
}

func compile(dir, cc string) (program string, err error) {
	source, program := filepath.Join(dir, "gsl.c"), filepath.Join(dir, "gsl")
	if err := unpack("rivals/gsl.c", source); err != nil {
		return "", err
	}
	out, err := exec.Command(cc, "-O3", "-march=native", "-DHAVE_INLINE", "-DGSL_RANGE_CHECK_OFF",
		"-o", program, source, "-lgsl", "-lgslcblas", "-lm").CombinedOutput()
	if err != nil {
		line, _, _ := strings.Cut(string(out), "\n")
		return "", fmt.Errorf("compile with %s: %w %s", cc, err, line)
	}
	return program, nil
}

func findPython(told string) (python string, err error) {
	try := []string{"python3", "/usr/bin/python3"}
	if told != "" {
		try = []string{told}
	}
	for _, python = range try {
		if err = exec.Command(python, "-c", "import scipy.optimize").Run(); err == nil {
			return python, nil
		}
	}
	return "", fmt.Errorf("import scipy with %s: %w", strings.Join(try, ", "), err)
}

// fit runs the rival on a file and reads what it prints: its name, its parameters and its times.
func (r rival) fit(file string, k float64, repeats int) (t timed, err error) {
	args := slices.Concat(r[1:], []string{file, strconv.Itoa(repeats), fmt.Sprint(startA), fmt.Sprint(k), fmt.Sprint(startC)})
	out, err := exec.Command(r[0], args...).Output()
	if err != nil {
		return t, fmt.Errorf("run %s: %w", strings.Join(r, " "), err)
	}
	lines := bufio.NewScanner(bytes.NewReader(out))
	lines.Scan()
	t.name = lines.Text()
	lines.Scan()
	if _, err := fmt.Sscan(lines.Text(), &t.a, &t.k, &t.c); err != nil {
		return t, fmt.Errorf("read what %s found, %q: %w", t.name, lines.Text(), err)
	}
	for lines.Scan() {
		v, err := strconv.ParseFloat(lines.Text(), 64)
		if err != nil {
			return t, fmt.Errorf("read a time of %s: %w", t.name, err)
		}
		t.micros = append(t.micros, v)
	}
	if len(t.micros) != repeats {
		return t, fmt.Errorf("%s told %d times, want %d", t.name, len(t.micros), repeats)
	}
	return t, nil
}

// compare fits the readings with all and prints a row each.
func compare(dir string, r readings, rivals []rival, o options) error {
	mine, err := ours(r, o.k, o.repeats)
	if err != nil {
		return err
	}
	fmt.Printf("| %s | ours | %.1f | %.1f | 1 | %.12g | |\n", r, mine.median(), mine.least(), mine.k)
	file := filepath.Join(dir, "readings.txt")
	if err := r.write(file); err != nil {
		return err
	}
	for _, v := range rivals {
		t, err := v.fit(file, o.k, o.repeats)
		if err != nil {
			return err
		}
		off := t.k/mine.k - 1
		fmt.Printf("| | %s | %.1f | %.1f | %.1f | %.12g | %.0e |\n", t.name, t.median(), t.least(), t.median()/mine.median(), t.k, off)
		if !(math.Abs(off) <= agreed) {
			return fmt.Errorf("%s finds k = %v in %s, we find %v", t.name, t.k, r, mine.k)
		}
	}
	return nil
}
