/* Fits y = a exp(-k t) + c with GSL's multifit_nlinear, again and again, and prints
   a, k, c and the microseconds of each fit.

   usage: gsl FILE REPEATS A K C, FILE holding a reading a line: t y */
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_version.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

struct readings { size_t n; double *t, *y; };

static int value(const gsl_vector *p, void *data, gsl_vector *f)
{
	const struct readings *d = data;
	double a = gsl_vector_get(p, 0), k = gsl_vector_get(p, 1), c = gsl_vector_get(p, 2);
	for (size_t i = 0; i < d->n; i++)
		gsl_vector_set(f, i, a * exp(-k * d->t[i]) + c - d->y[i]);
	return GSL_SUCCESS;
}

static int slope(const gsl_vector *p, void *data, gsl_matrix *jac)
{
	const struct readings *d = data;
	double a = gsl_vector_get(p, 0), k = gsl_vector_get(p, 1);
	for (size_t i = 0; i < d->n; i++) {
		double e = exp(-k * d->t[i]);
		gsl_matrix_set(jac, i, 0, e);
		gsl_matrix_set(jac, i, 1, -a * d->t[i] * e);
		gsl_matrix_set(jac, i, 2, 1);
	}
	return GSL_SUCCESS;
}

static double micros(void)
{
	struct timespec t;
	clock_gettime(CLOCK_MONOTONIC, &t);
	return t.tv_sec * 1e6 + t.tv_nsec / 1e3;
}

int main(int argc, char **argv)
{
	if (argc != 6)
		return 2;
	FILE *file = fopen(argv[1], "r");
	if (!file)
		return 1;
	size_t room = 1 << 20;
	struct readings d = {0, malloc(room * sizeof(double)), malloc(room * sizeof(double))};
	while (d.n < room && fscanf(file, "%lf %lf", &d.t[d.n], &d.y[d.n]) == 2)
		d.n++;
	fclose(file);

	/* The defaults, but for the fastest solver. The workspace is made once, outside the time. */
	gsl_multifit_nlinear_parameters how = gsl_multifit_nlinear_default_parameters();
	how.solver = gsl_multifit_nlinear_solver_cholesky;
	gsl_multifit_nlinear_workspace *w = gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &how, d.n, 3);
	gsl_multifit_nlinear_fdf problem = {.f = value, .df = slope, .n = d.n, .p = 3, .params = &d};
	gsl_matrix *cov = gsl_matrix_alloc(3, 3);
	double at[3] = {atof(argv[3]), atof(argv[4]), atof(argv[5])};
	gsl_vector_view start = gsl_vector_view_array(at, 3);
	int repeats = atoi(argv[2]), info = 0;
	double *took = malloc(repeats * sizeof(double));
	for (int i = 0; i < repeats; i++) {
		double began = micros();
		gsl_multifit_nlinear_init(&start.vector, &problem, w);
		if (gsl_multifit_nlinear_driver(100, 1e-10, 1e-10, 0, NULL, NULL, &info, w) != GSL_SUCCESS)
			return 3;
		gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(w), 0, cov);
		took[i] = micros() - began;
	}
	const gsl_vector *p = gsl_multifit_nlinear_position(w);
	printf("GSL %s\n%.17g %.17g %.17g\n", GSL_VERSION, gsl_vector_get(p, 0), gsl_vector_get(p, 1), gsl_vector_get(p, 2));
	for (int i = 0; i < repeats; i++)
		printf("%.3f\n", took[i]);
	return 0;
}
