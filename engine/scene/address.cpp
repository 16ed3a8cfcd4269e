#include "engine/scene/address.h"

#include <fmt/format.h>

#include <charconv>

namespace undercap {
namespace {

bool is_letter(char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }

bool is_name(std::string_view text) {
  if (text.empty() || !is_letter(text.front())) return false;
  for (const char c : text)
    if (!is_letter(c) && !(c >= '0' && c <= '9') && c != ' ' && c != '_' && c != '-') return false;
  return true;
}

// A positive whole number without sign or leading zero; 0 when the text is none.
int individual_number(std::string_view text) {
  int number = 0;
  if (text.empty() || text.front() == '0' || text.front() == '-') return 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), number);
  return error == std::errc{} && end == text.data() + text.size() ? number : 0;
}

}  // namespace

std::optional<Address> Address::parse(std::string_view text) {
  Address address;
  if (const auto colon = text.find(':'); colon != text.npos && text.find('/') > colon) {
    const std::string_view of = text.substr(0, colon);
    if (of != "source" && of != "meter") return std::nullopt;
    address.of = of == "source" ? Of::source : Of::meter;
    address.name = text.substr(colon + 1);
    if (!is_name(address.name)) return std::nullopt;
    return address;
  }
  if (const auto slash = text.find('/'); slash != text.npos) {
    address.part = text.substr(slash + 1);
    if (address.part.empty()) return std::nullopt;
    text = text.substr(0, slash);
  }
  if (const auto dot = text.find('.'); dot != text.npos) {
    address.individual = individual_number(text.substr(dot + 1));
    if (address.individual == 0) return std::nullopt;
    text = text.substr(0, dot);
  }
  if (!is_name(text)) return std::nullopt;
  address.name = text;
  return address;
}

std::string Address::text() const {
  if (of == Of::source) return fmt::format("source:{}", name);
  if (of == Of::meter) return fmt::format("meter:{}", name);
  return fmt::format("{}{}{}{}", name, individual > 0 ? fmt::format(".{}", individual) : "",
                     part.empty() ? "" : "/", part);
}

}  // namespace undercap
