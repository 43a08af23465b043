// SPDX-License-Identifier: Apache-2.0
#include "io/lock.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <unistd.h>

#include <cerrno>

#include "io/files.hpp"

namespace hardpan::io {

FolderLock::FolderLock(const std::string& folder, const std::string& lock_name) {
  const std::string path = folder + "/" + lock_name;
  handle_ = ::open(path.c_str(), O_RDWR | O_CREAT | O_CLOEXEC, 0666);
  if (handle_ < 0) throw environment_error("write the lock file", path, errno);
  int result = 0;
  do {
    result = ::flock(handle_, LOCK_EX | LOCK_NB);
  } while (result != 0 && errno == EINTR);
  if (result != 0) {
    const int error = errno;
    std::string holder(32, '\0');
    const ssize_t got = ::pread(handle_, holder.data(), holder.size(), 0);
    holder.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
    while (!holder.empty() && holder.back() == '\n') holder.pop_back();
    ::close(handle_);
    if (error != EWOULDBLOCK) throw environment_error("lock", path, error);
    throw base::EnvironmentError("the folder " + folder + " is in use by another run" +
                                 (holder.empty() ? std::string() : " (process " + holder + ")") +
                                 "; wait until it has ended, then run again");
  }
  // The number only serves the message above; a full disk must not stop the run here.
  const std::string own = std::to_string(::getpid()) + "\n";
  if (::ftruncate(handle_, 0) == 0) {
    [[maybe_unused]] const ssize_t written = ::pwrite(handle_, own.data(), own.size(), 0);
  }
}

FolderLock::~FolderLock() {
  if (handle_ >= 0) ::close(handle_);
}

}  // namespace hardpan::io
