#include "engine/gl/objects.h"

#include <fmt/format.h>
#include <glad/gl.h>

#include <regex>

#include "engine/core/errors.h"

namespace undercap {

void delete_buffer(unsigned id) { glDeleteBuffers(1, &id); }
void delete_texture(unsigned id) { glDeleteTextures(1, &id); }
void delete_program(unsigned id) { glDeleteProgram(id); }

void check_gl(const char* doing) {
  const GLenum error = glGetError();
  if (error == GL_NO_ERROR) return;
  if (error == GL_OUT_OF_MEMORY)
    throw Trouble(fmt::format("{}: the graphics device is out of memory", doing));
  throw Trouble(fmt::format("{}: OpenGL error 0x{:04x}", doing, error));
}

Buffer::Buffer(std::size_t bytes) : bytes_(bytes) {
  unsigned id = 0;
  glCreateBuffers(1, &id);
  name_ = GlName<delete_buffer>(id);
  glNamedBufferStorage(id, static_cast<GLsizeiptr>(bytes), nullptr, GL_DYNAMIC_STORAGE_BIT);
  check_gl("making a buffer");
}

Buffer::Buffer(std::span<const std::byte> content) : bytes_(content.size()) {
  unsigned id = 0;
  glCreateBuffers(1, &id);
  name_ = GlName<delete_buffer>(id);
  glNamedBufferStorage(id, static_cast<GLsizeiptr>(content.size()), content.data(), GL_DYNAMIC_STORAGE_BIT);
  check_gl("filling a buffer");
}

void Buffer::clear(std::size_t offset, std::size_t size) const {
  UNDERCAP_CHECK(offset + size <= bytes_, "a buffer is cleared inside its size");
  glClearNamedBufferSubData(id(), GL_R32UI, static_cast<GLintptr>(offset), static_cast<GLsizeiptr>(size),
                            GL_RED_INTEGER, GL_UNSIGNED_INT, nullptr);
}

void Buffer::write(std::span<const std::byte> content, std::size_t offset) const {
  UNDERCAP_CHECK(offset + content.size() <= bytes_, "a buffer is written inside its size");
  glNamedBufferSubData(id(), static_cast<GLintptr>(offset), static_cast<GLsizeiptr>(content.size()),
                       content.data());
}

void Buffer::read(std::span<std::byte> content, std::size_t offset) const {
  UNDERCAP_CHECK(offset + content.size() <= bytes_, "a buffer is read inside its size");
  glGetNamedBufferSubData(id(), static_cast<GLintptr>(offset), static_cast<GLsizeiptr>(content.size()),
                          content.data());
}

void Buffer::bind_storage(unsigned binding) const {
  glBindBufferBase(GL_SHADER_STORAGE_BUFFER, binding, id());
}

void Buffer::bind_uniform(unsigned binding) const { glBindBufferBase(GL_UNIFORM_BUFFER, binding, id()); }

namespace {

std::pair<GLenum, std::size_t> gl_format(TexelFormat format) {
  switch (format) {
    case TexelFormat::r32f:
      return {GL_R32F, 4};
    case TexelFormat::rg32f:
      return {GL_RG32F, 8};
    case TexelFormat::rgba32f:
      return {GL_RGBA32F, 16};
    case TexelFormat::rgba32ui:
      return {GL_RGBA32UI, 16};
  }
  return {GL_R32F, 4};
}

void check_texels(std::size_t texels) {
  if (texels > largest_texel_buffer())
    throw Trouble(fmt::format(
        "this device reads at most {} texels of one buffer, and {} are needed; use fewer triangles or a "
        "smaller picture",
        largest_texel_buffer(), texels));
}

}  // namespace

TexelBuffer::TexelBuffer(TexelFormat format, std::span<const std::byte> content) {
  const std::size_t texel_bytes = gl_format(format).second;
  const std::vector<std::byte> one_texel(texel_bytes);
  if (content.empty()) content = one_texel;
  check_texels(content.size() / texel_bytes);
  buffer_ = Buffer(content);
  view_as(format);
}

TexelBuffer::TexelBuffer(TexelFormat format, std::size_t texels) {
  check_texels(texels);
  buffer_ = Buffer(texels * gl_format(format).second);
  view_as(format);
}

void TexelBuffer::view_as(TexelFormat format) {
  unsigned id = 0;
  glCreateTextures(GL_TEXTURE_BUFFER, 1, &id);
  texture_ = GlName<delete_texture>(id);
  glTextureBuffer(id, gl_format(format).first, buffer_.id());
  check_gl("making a texture buffer");
}

void TexelBuffer::bind(unsigned unit) const { glBindTextureUnit(unit, texture_.id()); }

Texture::Texture(int width, int height) : width_(width), height_(height) {
  unsigned id = 0;
  glCreateTextures(GL_TEXTURE_2D, 1, &id);
  name_ = GlName<delete_texture>(id);
  glTextureStorage2D(id, 1, GL_RGBA8, width, height);
  glTextureParameteri(id, GL_TEXTURE_MIN_FILTER, GL_LINEAR);
  glTextureParameteri(id, GL_TEXTURE_MAG_FILTER, GL_LINEAR);
  glTextureParameteri(id, GL_TEXTURE_WRAP_S, GL_CLAMP_TO_EDGE);
  glTextureParameteri(id, GL_TEXTURE_WRAP_T, GL_CLAMP_TO_EDGE);
  check_gl("making a texture");
}

void Texture::fill(const Buffer& words) const {
  glMemoryBarrier(GL_PIXEL_BUFFER_BARRIER_BIT);
  glBindBuffer(GL_PIXEL_UNPACK_BUFFER, words.id());
  glTextureSubImage2D(id(), 0, 0, 0, width_, height_, GL_RGBA, GL_UNSIGNED_BYTE, nullptr);
  glBindBuffer(GL_PIXEL_UNPACK_BUFFER, 0);
  check_gl("filling a texture");
}

void Texture::fill(std::span<const std::byte> words) const {
  glTextureSubImage2D(id(), 0, 0, 0, width_, height_, GL_RGBA, GL_UNSIGNED_BYTE, words.data());
  check_gl("filling a texture");
}

namespace {

// A driver's message starts with "3:7(14):" or "3(7) :", 3 being the number of a #line directive: name the
// file.
std::string with_file_names(const std::string& log, const std::vector<std::string>& files) {
  static const std::regex place(R"((^|\n)(\d+)(?::(\d+)|\((\d+)\)))");
  std::string named;
  auto last = log.cbegin();
  for (std::sregex_iterator it(log.begin(), log.end(), place), end; it != end; ++it) {
    const std::smatch& match = *it;
    named.append(last, match[0].first);
    const std::size_t number = std::stoul(match[2]);
    const std::string line = match[3].matched ? match[3].str() : match[4].str();
    named += match[1].str() + (number < files.size() ? files[number] : match[2].str()) + ":" + line;
    last = match[0].second;
  }
  named.append(last, log.cend());
  return named;
}

}  // namespace

ComputeProgram::ComputeProgram(const std::string& source, const std::vector<std::string>& files) {
  const GLuint shader = glCreateShader(GL_COMPUTE_SHADER);
  const char* text = source.c_str();
  glShaderSource(shader, 1, &text, nullptr);
  glCompileShader(shader);
  GLint compiled = 0;
  glGetShaderiv(shader, GL_COMPILE_STATUS, &compiled);
  if (!compiled) {
    std::string log(1 << 16, '\0');
    GLsizei length = 0;
    glGetShaderInfoLog(shader, static_cast<GLsizei>(log.size()), &length, log.data());
    glDeleteShader(shader);
    log.resize(static_cast<std::size_t>(length));
    throw Trouble("a shader does not compile on this driver:\n" + with_file_names(log, files));
  }
  name_ = GlName<delete_program>(glCreateProgram());
  glAttachShader(id(), shader);
  glLinkProgram(id());
  glDeleteShader(shader);
  GLint linked = 0;
  glGetProgramiv(id(), GL_LINK_STATUS, &linked);
  if (!linked) {
    std::string log(1 << 16, '\0');
    GLsizei length = 0;
    glGetProgramInfoLog(id(), static_cast<GLsizei>(log.size()), &length, log.data());
    log.resize(static_cast<std::size_t>(length));
    throw Trouble("a shader does not link on this driver:\n" + with_file_names(log, files));
  }
}

void ComputeProgram::use() const { glUseProgram(id()); }
int ComputeProgram::location(const char* uniform) const { return glGetUniformLocation(id(), uniform); }
void ComputeProgram::set(const char* uniform, int value) const {
  glProgramUniform1i(id(), location(uniform), value);
}
void ComputeProgram::set(const char* uniform, unsigned value) const {
  glProgramUniform1ui(id(), location(uniform), value);
}
void ComputeProgram::set(const char* uniform, float value) const {
  glProgramUniform1f(id(), location(uniform), value);
}
void ComputeProgram::set2(const char* uniform, int x, int y) const {
  glProgramUniform2i(id(), location(uniform), x, y);
}
void ComputeProgram::set3(const char* uniform, float x, float y, float z) const {
  glProgramUniform3f(id(), location(uniform), x, y, z);
}
void ComputeProgram::set4(const char* uniform, float x, float y, float z, float w) const {
  glProgramUniform4f(id(), location(uniform), x, y, z, w);
}

void dispatch(unsigned groups_x, unsigned groups_y) { glDispatchCompute(groups_x, groups_y, 1); }
void storage_barrier() {
  glMemoryBarrier(GL_SHADER_STORAGE_BARRIER_BIT | GL_TEXTURE_FETCH_BARRIER_BIT |
                  GL_BUFFER_UPDATE_BARRIER_BIT);
}
void finish() { glFinish(); }

std::string renderer_name() { return reinterpret_cast<const char*>(glGetString(GL_RENDERER)); }

bool software_renderer() { return renderer_name().find("llvmpipe") != std::string::npos; }

std::size_t largest_storage_block() {
  GLint64 bytes = 0;
  glGetInteger64v(GL_MAX_SHADER_STORAGE_BLOCK_SIZE, &bytes);
  return static_cast<std::size_t>(bytes);
}

std::size_t shared_memory() {
  GLint bytes = 0;
  glGetIntegerv(GL_MAX_COMPUTE_SHARED_MEMORY_SIZE, &bytes);
  return static_cast<std::size_t>(bytes);
}

std::size_t largest_texel_buffer() {
  GLint texels = 0;
  glGetIntegerv(GL_MAX_TEXTURE_BUFFER_SIZE, &texels);
  return static_cast<std::size_t>(texels);
}

}  // namespace undercap
