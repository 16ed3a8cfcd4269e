// OpenGL objects as move-only C++ objects: usable once constructed, deleted by their destructor. Direct state
// access only (OpenGL 4.5), so there is no binding state to fall out of step.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

namespace undercap {

// A name that its owner deletes.
template <void (*Delete)(unsigned)>
class GlName {
 public:
  explicit GlName(unsigned id = 0) : id_(id) {}
  GlName(GlName&& other) noexcept : id_(std::exchange(other.id_, 0)) {}
  GlName& operator=(GlName&& other) noexcept {
    if (this != &other) {
      if (id_) Delete(id_);
      id_ = std::exchange(other.id_, 0);
    }
    return *this;
  }
  ~GlName() {
    if (id_) Delete(id_);
  }
  unsigned id() const { return id_; }

 private:
  unsigned id_;
};

void delete_buffer(unsigned id);
void delete_texture(unsigned id);
void delete_program(unsigned id);

// Storage on the device. Throws Trouble when it cannot be had.
class Buffer {
 public:
  Buffer() = default;
  explicit Buffer(std::size_t bytes);  // undefined content
  template <class T>
  explicit Buffer(std::span<const T> content) : Buffer(std::as_bytes(content)) {}
  explicit Buffer(std::span<const std::byte> content);

  unsigned id() const { return name_.id(); }
  std::size_t size() const { return bytes_; }
  void clear() const { clear(0, bytes_); }                 // to zero
  void clear(std::size_t offset, std::size_t size) const;  // whole words of it
  void write(std::span<const std::byte> content, std::size_t offset = 0) const;
  void read(std::span<std::byte> content, std::size_t offset = 0) const;
  void bind_storage(unsigned binding) const;  // as shader storage
  void bind_uniform(unsigned binding) const;  // as a uniform block

 private:
  GlName<delete_buffer> name_;
  std::size_t bytes_ = 0;
};

enum class TexelFormat { r32f, rg32f, rgba32f, rgba32ui };

// A buffer read by texelFetch: on software OpenGL twice as fast as shader storage. Empty content becomes one
// zero texel.
class TexelBuffer {
 public:
  TexelBuffer() = default;
  TexelBuffer(TexelFormat format, std::span<const std::byte> content);
  template <class T>
  TexelBuffer(TexelFormat format, const std::vector<T>& content)
      : TexelBuffer(format, std::as_bytes(std::span<const T>(content))) {}
  // Undefined content, which a dispatch writes as shader storage.
  TexelBuffer(TexelFormat format, std::size_t texels);
  void bind(unsigned unit) const;
  void bind_storage(unsigned binding) const { buffer_.bind_storage(binding); }
  void read(std::span<std::byte> content) const { buffer_.read(content); }
  void write(std::span<const std::byte> content, std::size_t offset) const { buffer_.write(content, offset); }
  std::size_t size() const { return buffer_.size(); }

 private:
  void view_as(TexelFormat format);
  Buffer buffer_;
  GlName<delete_texture> texture_;
};

// A picture for a window: eight bits a channel, R, G, B, A, rows from the top.
class Texture {
 public:
  Texture() = default;
  Texture(int width, int height);
  // Takes one word a pixel, by rows, without leaving the device.
  void fill(const Buffer& words) const;
  void fill(std::span<const std::byte> words) const;
  unsigned id() const { return name_.id(); }
  int width() const { return width_; }
  int height() const { return height_; }

 private:
  GlName<delete_texture> name_;
  int width_ = 0, height_ = 0;
};

class ComputeProgram {
 public:
  ComputeProgram() = default;
  // 'place_of' turns the number of a #line directive into a file name for messages. Throws Trouble with the
  // driver's log.
  ComputeProgram(const std::string& source, const std::vector<std::string>& files);
  void use() const;
  void set(const char* uniform, int value) const;
  void set(const char* uniform, unsigned value) const;
  void set(const char* uniform, float value) const;
  void set2(const char* uniform, int x, int y) const;
  void set3(const char* uniform, float x, float y, float z) const;
  void set4(const char* uniform, float x, float y, float z, float w) const;
  unsigned id() const { return name_.id(); }

 private:
  int location(const char* uniform) const;
  GlName<delete_program> name_;
};

void dispatch(unsigned groups_x, unsigned groups_y);
void storage_barrier();  // writes of earlier dispatches are seen by later ones and by read()
void finish();
std::string renderer_name();          // GL_RENDERER of the current context
bool software_renderer();             // the current context draws on the CPU (Mesa's llvmpipe)
std::size_t largest_storage_block();  // bytes
std::size_t largest_texel_buffer();   // texels
std::size_t shared_memory();          // bytes that a work group may share

// Throws Trouble when an OpenGL error is pending; 'doing' says what was tried.
void check_gl(const char* doing);

}  // namespace undercap
