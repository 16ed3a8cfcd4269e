#include "engine/image/exr.h"

#include <ImathBox.h>
#include <ImfChannelList.h>
#include <ImfChromaticitiesAttribute.h>
#include <ImfFrameBuffer.h>
#include <ImfHeader.h>
#include <ImfIO.h>
#include <ImfInputPart.h>
#include <ImfMultiPartInputFile.h>
#include <ImfMultiPartOutputFile.h>
#include <ImfOutputPart.h>
#include <ImfPartType.h>
#include <ImfStandardAttributes.h>
#include <ImfStringAttribute.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cstring>
#include <set>

#include "engine/core/errors.h"

namespace undercap {
namespace {

constexpr const char* units_attribute = "units";
constexpr std::array<const char*, 3> channel_names = {"R", "G", "B"};

// ITU-R BT.709-6, table 1, items 1.3 and 1.4: primaries and the D65 white.
Imf::Chromaticities srgb_chromaticities() {
  return {Imath::V2f(0.640F, 0.330F), Imath::V2f(0.300F, 0.600F), Imath::V2f(0.150F, 0.060F),
          Imath::V2f(0.3127F, 0.3290F)};
}

// OpenEXR writes the parts first and comes back for the table of their places.
class MemoryOutput : public Imf::OStream {
 public:
  explicit MemoryOutput(std::string& bytes) : OStream("the EXR"), bytes_(bytes) {}
  void write(const char* data, int size) override {
    const auto count = static_cast<std::size_t>(size);
    if (place_ + count > bytes_.size()) bytes_.resize(place_ + count);
    std::memcpy(&bytes_[place_], data, count);
    place_ += count;
  }
  std::uint64_t tellp() override { return place_; }
  void seekp(std::uint64_t place) override { place_ = place; }

 private:
  std::string& bytes_;
  std::size_t place_ = 0;
};

class MemoryInput : public Imf::IStream {
 public:
  explicit MemoryInput(std::string_view bytes) : IStream("the EXR"), bytes_(bytes) {}
  bool read(char* data, int size) override {
    const auto count = static_cast<std::size_t>(size);
    if (place_ > bytes_.size() || count > bytes_.size() - place_)
      throw std::runtime_error("the file ends too early");
    std::memcpy(data, bytes_.data() + place_, count);
    place_ += count;
    return place_ < bytes_.size();
  }
  std::uint64_t tellg() override { return place_; }
  void seekg(std::uint64_t place) override { place_ = place; }

 private:
  std::string_view bytes_;
  std::size_t place_ = 0;
};

Imf::Header header_of(const ExrPart& part) {
  Imf::Header header(part.picture.width, part.picture.height, 1.0F, Imath::V2f(0, 0), 1.0F, Imf::INCREASING_Y,
                     Imf::ZIP_COMPRESSION);
  header.setName(part.name);
  header.setType(Imf::SCANLINEIMAGE);
  for (const char* channel : channel_names) header.channels().insert(channel, Imf::Channel(Imf::FLOAT));
  Imf::addChromaticities(header, srgb_chromaticities());
  header.insert(units_attribute, Imf::StringAttribute(part.units));
  for (const auto& [name, text] : part.texts) {
    UNDERCAP_CHECK(!name.empty() && header.find(name) == header.end(),
                   fmt::format("an attribute of an EXR part has a name of its own, not '{}'", name));
    header.insert(name, Imf::StringAttribute(text));
  }
  return header;
}

// The place of a picture's channels in memory, as OpenEXR wants it: for reading and for writing.
Imf::FrameBuffer frame_buffer(float* rgb, const Imath::Box2i& window) {
  const std::size_t pixel_bytes = 3 * sizeof(float);
  const auto width = static_cast<std::size_t>(window.max.x - window.min.x + 1);
  Imf::FrameBuffer buffer;
  for (std::size_t channel = 0; channel < channel_names.size(); ++channel)
    buffer.insert(channel_names[channel],
                  Imf::Slice::Make(Imf::FLOAT, rgb + channel, window, pixel_bytes, pixel_bytes * width));
  return buffer;
}

void check_parts(std::span<const ExrPart> parts) {
  UNDERCAP_CHECK(!parts.empty() && parts[0].name == "mix", "the first part of an EXR is 'mix'");
  std::set<std::string_view> names;
  for (const ExrPart& part : parts) {
    UNDERCAP_CHECK(is_whole(part.picture), fmt::format("the picture of part '{}' is whole", part.name));
    UNDERCAP_CHECK(
        part.picture.width == parts[0].picture.width && part.picture.height == parts[0].picture.height,
        fmt::format("part '{}' has the size of the mix", part.name));
    UNDERCAP_CHECK(!part.name.empty() && !part.units.empty(), "a part of an EXR has a name and a unit");
    if (!names.insert(part.name).second)
      throw Refusal(
          fmt::format("two parts of the EXR are called '{}'; give the source another name", part.name));
  }
}

std::string text_of(const Imf::Header& header, const char* name) {
  const auto* attribute = header.findTypedAttribute<Imf::StringAttribute>(name);
  return attribute != nullptr ? attribute->value() : std::string();
}

void check_channels(const Imf::Header& header, const std::string& part_name) {
  for (const char* name : channel_names) {
    const Imf::Channel* channel = header.channels().findChannel(name);
    if (channel == nullptr || channel->xSampling != 1 || channel->ySampling != 1)
      throw Refusal(fmt::format("part '{}' of the EXR has no full channel '{}'", part_name, name));
  }
}

ExrPart read_part(Imf::MultiPartInputFile& file, int number) {
  const Imf::Header& header = file.header(number);
  ExrPart part;
  part.name = header.hasName() ? header.name() : std::string();
  part.units = text_of(header, units_attribute);
  if (header.hasType() && header.type() != Imf::SCANLINEIMAGE)
    throw Refusal(fmt::format("part '{}' of the EXR is of type '{}'; only scan lines are read", part.name,
                              header.type()));
  check_channels(header, part.name);
  for (auto at = header.begin(); at != header.end(); ++at) {
    const std::string_view name = at.name();
    if (const auto* text = dynamic_cast<const Imf::StringAttribute*>(&at.attribute());
        text != nullptr && name != units_attribute && name != "name" && name != "type")
      part.texts.emplace_back(name, text->value());
  }
  const Imath::Box2i window = header.dataWindow();
  part.picture = make_picture(window.max.x - window.min.x + 1, window.max.y - window.min.y + 1);
  Imf::InputPart input(file, number);
  input.setFrameBuffer(frame_buffer(part.picture.rgb.data(), window));
  input.readPixels(window.min.y, window.max.y);
  return part;
}

}  // namespace

std::string encode_exr(std::span<const ExrPart> parts) {
  check_parts(parts);
  std::vector<Imf::Header> headers;
  for (const ExrPart& part : parts) headers.push_back(header_of(part));
  std::string bytes;
  try {
    MemoryOutput output(bytes);
    // No threads: the order of the parts in the file is the order of the calls.
    Imf::MultiPartOutputFile file(output, headers.data(), static_cast<int>(headers.size()), false, 0);
    for (std::size_t number = 0; number < parts.size(); ++number) {
      const Picture& picture = parts[number].picture;
      Imf::OutputPart part(file, static_cast<int>(number));
      // OpenEXR has one kind of frame buffer for both directions; writing only reads from it.
      part.setFrameBuffer(frame_buffer(const_cast<float*>(picture.rgb.data()), headers[number].dataWindow()));
      part.writePixels(picture.height);
    }
  } catch (const std::exception& problem) {
    throw Trouble(fmt::format("the EXR cannot be made: {}", problem.what()));
  }
  return bytes;
}

std::vector<ExrPart> decode_exr(std::string_view bytes) {
  try {
    MemoryInput input(bytes);
    Imf::MultiPartInputFile file(input, 0);
    std::vector<ExrPart> parts;
    for (int number = 0; number < file.parts(); ++number) parts.push_back(read_part(file, number));
    return parts;
  } catch (const Refusal&) {
    throw;
  } catch (const std::exception& problem) {
    throw Refusal(fmt::format("not an EXR that can be read: {}", problem.what()));
  }
}

}  // namespace undercap
