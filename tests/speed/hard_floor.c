/* The hard floor: everybody within the look touched once, in 32-bit floats laid out for vector units. No law.

   n places are counted into squares of the look's half, row by row, so that the squares of one row beside each
   other are one run in memory: for each place five runs, each a loop without a branch.
   Returns how many are within the look, each pair twice; the sum of the ways apart goes to *summed. */

#include <math.h>

enum { ROWS_BESIDE = 2 };

long touch(long n, const float *x, const float *y, float look, long columns, long rows,
           int *begins, int *square, float *sx, float *sy, double *summed)
{
    const float side = look / ROWS_BESIDE;
    float least_x = x[0], least_y = y[0];
    for (long i = 1; i < n; i++) {
        least_x = fminf(least_x, x[i]);
        least_y = fminf(least_y, y[i]);
    }
    for (long b = 0; b <= columns * rows; b++) begins[b] = 0;
    for (long i = 0; i < n; i++) {
        long column = (long)((x[i] - least_x) / side), row = (long)((y[i] - least_y) / side);
        square[i] = (int)(row * columns + column);
        begins[square[i]]++;
    }
    for (long b = 0, total = 0; b <= columns * rows; b++) begins[b] = (int)(total += begins[b]);
    for (long i = 0; i < n; i++) {
        int at = --begins[square[i]];
        sx[at] = x[i];
        sy[at] = y[i];
    }
    long touched = 0;
    float sum = 0.0f;
    for (long i = 0; i < n; i++) {
        long row = square[i] / columns, column = square[i] % columns;
        long first = column < ROWS_BESIDE ? 0 : column - ROWS_BESIDE;
        long last = column + ROWS_BESIDE >= columns ? columns - 1 : column + ROWS_BESIDE;
        for (long r = row - ROWS_BESIDE; r <= row + ROWS_BESIDE; r++) {
            if (r < 0 || r >= rows) continue;
            int from = begins[r * columns + first], to = begins[r * columns + last + 1], count = 0;
            for (int j = from; j < to; j++) {
                float dx = sx[j] - x[i], dy = sy[j] - y[i];
                int within = dx * dx + dy * dy <= look * look;
                count += within;
                sum += within ? dx : 0.0f;
            }
            touched += count;
        }
    }
    *summed = sum;
    return touched - n; /* everybody is within their own look */
}
