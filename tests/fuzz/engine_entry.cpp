// What libFuzzer calls; UNDERCAP_FUZZ_TARGET names the function of targets.h.
#include <cstdint>

#include "tests/fuzz/targets.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  undercap::fuzz::UNDERCAP_FUZZ_TARGET(std::string(reinterpret_cast<const char*>(data), size));
  return 0;
}
