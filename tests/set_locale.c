/* Preloaded by tests/elsewhere.sh: sets the locale of the environment before main(), which the program itself
   never does, so that a number read or written by the locale shows. */
#include <locale.h>

__attribute__((constructor)) static void set_locale(void) { setlocale(LC_ALL, ""); }
