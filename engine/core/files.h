// Reading and writing whole files, so that nothing is ever half read or half written.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

namespace undercap {

// The file's bytes. Refuses a folder, a missing or unreadable file, one over 'limit_bytes', and a pipe into
// which nobody writes, by name.
std::string read_file(const std::filesystem::path& file, std::size_t limit_bytes = std::size_t{1} << 30);

// Whether a file lies in a folder or below it, after all links are followed. What is not there lies where its
// name says.
bool stays_inside(const std::filesystem::path& folder, const std::filesystem::path& file);

// Refuses a path that cannot be written: a folder, a missing parent folder, or an existing file unless
// 'force'. Commands call it before the long work starts.
void check_writable(const std::filesystem::path& file, bool force);

// Writes beside the target and renames over it, so that a reader sees the old file or the new one, never a
// part. A target that is not a regular file (/dev/stdout, a pipe) is written in place. Throws Trouble when
// the disk is full.
void write_file(const std::filesystem::path& file, std::string_view bytes, bool force);

}  // namespace undercap
