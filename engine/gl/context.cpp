#include "engine/gl/context.h"

#include <EGL/egl.h>
#include <EGL/eglext.h>
#include <fmt/format.h>
#include <glad/gl.h>

#include <algorithm>
#include <cctype>
#include <cstring>

#include "engine/core/errors.h"

namespace undercap {
namespace {

bool has_extension(const char* list, const char* name) { return list && std::strstr(list, name) != nullptr; }

template <class Function>
Function egl_function(const char* name) {
  return reinterpret_cast<Function>(eglGetProcAddress(name));
}

struct EglDevice {
  EGLDeviceEXT handle = nullptr;
  Device device;
};

// EGL_EXT_device_enumeration; software devices are marked by EGL_MESA_device_software.
std::vector<EglDevice> egl_devices() {
  const auto query_devices = egl_function<PFNEGLQUERYDEVICESEXTPROC>("eglQueryDevicesEXT");
  const auto query_string = egl_function<PFNEGLQUERYDEVICESTRINGEXTPROC>("eglQueryDeviceStringEXT");
  std::vector<EglDevice> found;
  if (!query_devices || !query_string) return found;
  EGLDeviceEXT handles[32];
  EGLint count = 0;
  if (!query_devices(32, handles, &count)) return found;
  for (EGLint i = 0; i < count; ++i) {
    const char* extensions = query_string(handles[i], EGL_EXTENSIONS);
    const bool software = has_extension(extensions, "EGL_MESA_device_software");
    const char* file = has_extension(extensions, "EGL_EXT_device_drm")
                           ? query_string(handles[i], EGL_DRM_DEVICE_FILE_EXT)
                           : nullptr;
    found.push_back({handles[i], {0, software, software ? "software" : file ? file : "hardware"}});
  }
  std::stable_partition(found.begin(), found.end(), [](const EglDevice& d) { return !d.device.software; });
  for (std::size_t i = 0; i < found.size(); ++i) found[i].device.number = static_cast<int>(i);
  return found;
}

std::string lower(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

}  // namespace

std::vector<Device> list_devices() {
  std::vector<Device> devices;
  for (const EglDevice& found : egl_devices()) devices.push_back(found.device);
  return devices;
}

bool HeadlessContext::try_display(void* display) {
  if (display == EGL_NO_DISPLAY || !eglInitialize(display, nullptr, nullptr)) return false;
  if (!eglBindAPI(EGL_OPENGL_API)) return false;
  const EGLint attributes[] = {EGL_CONTEXT_MAJOR_VERSION,
                               4,
                               EGL_CONTEXT_MINOR_VERSION,
                               5,
                               EGL_CONTEXT_OPENGL_PROFILE_MASK,
                               EGL_CONTEXT_OPENGL_CORE_PROFILE_BIT,
                               EGL_NONE};
  const EGLContext context = eglCreateContext(display, EGL_NO_CONFIG_KHR, EGL_NO_CONTEXT, attributes);
  if (context == EGL_NO_CONTEXT) return false;
  if (!eglMakeCurrent(display, EGL_NO_SURFACE, EGL_NO_SURFACE, context) ||
      gladLoadGL(reinterpret_cast<GLADloadfunc>(eglGetProcAddress)) == 0) {
    eglDestroyContext(display, context);
    return false;
  }
  display_ = display;
  context_ = context;
  renderer_ = reinterpret_cast<const char*>(glGetString(GL_RENDERER));
  return true;
}

HeadlessContext::HeadlessContext(const std::string& device) {
  const auto get_display = egl_function<PFNEGLGETPLATFORMDISPLAYEXTPROC>("eglGetPlatformDisplayEXT");
  if (!get_display)
    throw Trouble(
        "EGL offers no platform displays here; OpenGL 4.5 without a window needs them (package libegl1)");
  std::string seen;
  const bool by_number = !device.empty() && std::all_of(device.begin(), device.end(),
                                                        [](unsigned char c) { return std::isdigit(c); });
  for (const EglDevice& candidate : egl_devices()) {
    seen += fmt::format("\n  {}: {}", candidate.device.number, candidate.device.name);
    if (by_number && std::to_string(candidate.device.number) != device) continue;
    if (device == "software" && !candidate.device.software) continue;
    if (!try_display(get_display(EGL_PLATFORM_DEVICE_EXT, candidate.handle, nullptr))) continue;
    seen += fmt::format(" ({})", renderer_);
    software_ = candidate.device.software;
    const bool by_name = !device.empty() && !by_number && device != "software";
    if (!by_name || lower(renderer_).find(lower(device)) != std::string::npos) return;
    eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
    eglDestroyContext(display_, context_);
    context_ = nullptr;
  }
  // A driver without device enumeration may still offer Mesa's surfaceless platform.
  if ((device.empty() || device == "software") &&
      try_display(get_display(EGL_PLATFORM_SURFACELESS_MESA, EGL_DEFAULT_DISPLAY, nullptr))) {
    software_ = lower(renderer_).find("llvmpipe") != std::string::npos;
    return;
  }
  if (!device.empty() && !seen.empty())
    throw Refusal(fmt::format("--device {}: no such device with OpenGL 4.5; there are:{}", device, seen));
  throw Trouble(
      "no device here offers OpenGL 4.5 core through EGL; install a driver (Debian: libgl1-mesa-dri brings a "
      "software one)" +
      (seen.empty() ? std::string() : "; tried:" + seen));
}

HeadlessContext::~HeadlessContext() {
  if (!context_) return;
  eglMakeCurrent(display_, EGL_NO_SURFACE, EGL_NO_SURFACE, EGL_NO_CONTEXT);
  eglDestroyContext(display_, context_);
  eglTerminate(display_);
}

}  // namespace undercap
