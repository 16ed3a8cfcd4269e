#include "engine/scene/address.h"

#include <gtest/gtest.h>

namespace undercap {
namespace {

TEST(Address, RoundTripsEachForm) {
  for (const char* text : {"tuft", "tuft/cap", "tuft.2", "tuft.12/gills", "source:torch", "meter:at the stem",
                           "old log/bark", "rock/mat.001", "rock/grey stone"}) {
    const auto address = Address::parse(text);
    ASSERT_TRUE(address) << text;
    EXPECT_EQ(address->text(), text);
  }
}

TEST(Address, ReadsItsPieces) {
  EXPECT_EQ(Address::parse("tuft.2/gills"), (Address{Address::Of::prop, "tuft", 2, "gills"}));
  EXPECT_EQ(Address::parse("tuft"), (Address{Address::Of::prop, "tuft", 0, ""}));
  EXPECT_EQ(Address::parse("source:torch"), (Address{Address::Of::source, "torch", 0, ""}));
  EXPECT_EQ(Address::parse("meter:at the stem"), (Address{Address::Of::meter, "at the stem", 0, ""}));
}

TEST(Address, IsNotJustAnyText) {
  for (const char* text : {"", "/cap", "tuft/", "tuft.", "tuft.0", "tuft.02", "tuft.-1", "tuft.two",
                           "tuft.2x", "tuft.99999999999", "2tuft", " tuft",
                           "t\xc3\xbc"
                           "ft",
                           "prop:tuft", "source:", "source:torch.2", "meter:a/b", ":", "."})
    EXPECT_FALSE(Address::parse(text)) << text;
}

}  // namespace
}  // namespace undercap
