// SPDX-License-Identifier: Apache-2.0
// The order that matters everywhere: content written, content synced, name changed, folder
// synced. renameat2 with RENAME_EXCHANGE (Linux man-pages, rename(2)) swaps two folders in one step;
// where the file system has it not (EINVAL), two renames are used and recover() closes the gap.
#include "io/atomic_files.hpp"

#include <fcntl.h>
#include <signal.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstdio>
#include <filesystem>
#include <system_error>

#include "base/assertion.hpp"
#include "io/detail/file_handle.hpp"
#include "io/files.hpp"

namespace hardpan::io {
namespace {

namespace fs = std::filesystem;

std::string folder_of(const std::string& path) {
  const std::string parent = fs::path(path).parent_path().string();
  return parent.empty() ? "." : parent;
}

std::string without_trailing_slash(std::string path) {
  while (path.size() > 1 && path.back() == '/') path.pop_back();
  return path;
}

std::string hidden_sibling(const std::string& target, const std::string& suffix) {
  return (fs::path(folder_of(target)) / ("." + fs::path(target).filename().string() + suffix)).string();
}

void sync_path(const std::string& path, int flags) {
  const detail::FileHandle file(::open(path.c_str(), flags | O_CLOEXEC));
  if (!file.ok()) throw environment_error("sync", path, errno);
  // EINVAL: this file system cannot sync folders (some network shares); nothing more can be done.
  if (::fsync(file.get()) != 0 && errno != EINVAL) throw environment_error("sync", path, errno);
}

void sync_folder(const std::string& path) { sync_path(path, O_RDONLY | O_DIRECTORY); }

// Files first, then the folders that name them, deepest first.
void sync_tree(const std::string& root) {
  for (const fs::directory_entry& entry : fs::directory_iterator(root)) {
    if (entry.is_symlink()) continue;
    if (entry.is_directory()) sync_tree(entry.path().string());
    else sync_path(entry.path().string(), O_RDONLY);
  }
  sync_folder(root);
}

bool exists(const std::string& path) {
  struct stat info {};
  return ::lstat(path.c_str(), &info) == 0;
}

void rename_or_throw(const std::string& from, const std::string& to) {
  if (::rename(from.c_str(), to.c_str()) != 0) throw environment_error("put in place", to, errno);
}

void remove_tree(const std::string& path) {
  std::error_code code;
  fs::remove_all(path, code);
  if (code) throw environment_error("remove", path, code.value());
}

// The process number inside ".NAME.PID.partial", or 0.
pid_t partial_owner(const std::string& name) {
  constexpr std::string_view suffix = ".partial";
  if (name.size() < suffix.size() + 3 || name[0] != '.' || !name.ends_with(suffix)) return 0;
  const std::string_view stem = std::string_view(name).substr(0, name.size() - suffix.size());
  const std::size_t dot = stem.rfind('.');
  pid_t pid = 0;
  const auto [end, error] = std::from_chars(stem.data() + dot + 1, stem.data() + stem.size(), pid);
  return error == std::errc{} && end == stem.data() + stem.size() && dot > 0 ? pid : 0;
}

}  // namespace

void replace_file(const std::string& written, const std::string& path) {
  sync_path(written, O_RDONLY);
  if (::rename(written.c_str(), path.c_str()) != 0) throw environment_error("write", path, errno);
  sync_folder(folder_of(path));
}

void write_file(const std::string& path, std::string_view bytes) {
  std::error_code code;
  // A link is followed so that the file behind it changes, not the link.
  const std::string target = fs::is_symlink(path, code) ? fs::weakly_canonical(path, code).string() : path;
  const std::string part = hidden_sibling(target, "." + std::to_string(::getpid()) + ".partial");
  detail::FileHandle file(::open(part.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666));
  if (!file.ok()) throw environment_error("write", path, errno);
  const auto give_up = [&](int error) {
    ::unlink(part.c_str());
    return environment_error("write", path, error);
  };
  struct stat old {};
  if (::stat(target.c_str(), &old) == 0) {
    if (S_ISDIR(old.st_mode)) throw give_up(EISDIR);
    if (::fchmod(file.get(), old.st_mode & 07777) != 0) throw give_up(errno);
  }
  for (std::size_t done = 0; done < bytes.size();) {
    const ssize_t put = ::write(file.get(), bytes.data() + done, bytes.size() - done);
    if (put < 0 && errno == EINTR) continue;
    if (put < 0) throw give_up(errno);
    done += static_cast<std::size_t>(put);
  }
  if (::fsync(file.get()) != 0) throw give_up(errno);
  if (!file.close()) throw give_up(errno);
  if (::rename(part.c_str(), target.c_str()) != 0) throw give_up(errno);
  sync_folder(folder_of(target));
}

void remove_partial_files(const std::string& folder) {
  std::error_code code;
  for (const fs::directory_entry& entry : fs::directory_iterator(folder, code)) {
    const pid_t owner = partial_owner(entry.path().filename().string());
    if (owner > 0 && owner != ::getpid() && ::kill(owner, 0) != 0 && errno == ESRCH) {
      if (::unlink(entry.path().c_str()) != 0) throw environment_error("remove", entry.path().string(), errno);
    }
  }
  if (code) throw environment_error("look into", folder, code.value());
}

OutputDirectory::OutputDirectory(std::string target)
    : target_(without_trailing_slash(std::move(target))),
      building_(hidden_sibling(target_, ".building")),
      ready_(hidden_sibling(target_, ".ready")),
      old_(hidden_sibling(target_, ".old")) {
  recover(target_);
  struct stat info {};
  if (::stat(target_.c_str(), &info) == 0 && !S_ISDIR(info.st_mode)) {
    throw base::EnvironmentError("cannot write the folder " + target_ + ": a file stands in its place; move it away");
  }
  if (::mkdir(building_.c_str(), 0777) != 0) throw environment_error("make the folder", building_, errno);
}

OutputDirectory::~OutputDirectory() {
  std::error_code ignored;
  if (method_ == ExchangeMethod::none) fs::remove_all(building_, ignored);
}

void OutputDirectory::recover(const std::string& target_given) {
  const std::string target = without_trailing_slash(target_given);
  const std::string ready = hidden_sibling(target, ".ready");
  const std::string old = hidden_sibling(target, ".old");
  if (!exists(target)) {
    // Killed between the two renames: the finished folder is whole and synced, so it moves in.
    if (exists(ready)) rename_or_throw(ready, target);
    else if (exists(old)) rename_or_throw(old, target);
  }
  for (const std::string& left : {ready, old, hidden_sibling(target, ".building")}) {
    if (exists(left)) remove_tree(left);
  }
}

void OutputDirectory::commit() {
  HARDPAN_ASSERT(method_ == ExchangeMethod::none);
  try {
    sync_tree(building_);
  } catch (const fs::filesystem_error& error) {
    throw environment_error("sync", building_, error.code().value());
  }
  if (!exists(target_)) {
    rename_or_throw(building_, target_);
    method_ = ExchangeMethod::renamed;
    sync_folder(folder_of(target_));
    return;
  }
  if (!pair_only_ &&
      ::renameat2(AT_FDCWD, building_.c_str(), AT_FDCWD, target_.c_str(), RENAME_EXCHANGE) == 0) {
    method_ = ExchangeMethod::exchanged;
    sync_folder(folder_of(target_));
    remove_tree(building_);  // by now the old content
    return;
  }
  if (!pair_only_ && errno != EINVAL && errno != ENOSYS) throw environment_error("put in place", target_, errno);
  rename_or_throw(building_, ready_);
  method_ = ExchangeMethod::rename_pair;
  rename_or_throw(target_, old_);
  rename_or_throw(ready_, target_);
  sync_folder(folder_of(target_));
  remove_tree(old_);
}

}  // namespace hardpan::io
