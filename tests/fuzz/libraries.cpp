// The libraries that read OBJ and TOML, compiled here under the sanitizers, in place of Debian's shared ones.
#define TINYOBJLOADER_IMPLEMENTATION
#include <tiny_obj_loader.h>

#define TOML_IMPLEMENTATION
#include <toml++/toml.h>
