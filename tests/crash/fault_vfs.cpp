#include "fault_vfs.hpp"

#include <sqlite3.h>

#include <algorithm>
#include <cstring>
#include <fstream>

namespace proofwalk::log {
namespace {

struct PendingWrite {
    std::size_t at = 0;
    std::vector<char> bytes;
    bool truncation = false;  // then `at` is the new size
};

struct DiskFile {
    std::vector<char> synced;
    std::vector<PendingWrite> pending;
};

struct Disk {
    sqlite3_vfs* real = nullptr;
    DiskFault fault = DiskFault::none;
    int countdown = 0;
    bool lasting = false, lose_syncs = false;
    int given = 0;
    std::map<std::string, DiskFile> files;
} disk;

bool due(std::initializer_list<DiskFault> kinds) {
    if (std::ranges::find(kinds, disk.fault) == kinds.end()) return false;
    if (--disk.countdown > 0) return false;
    ++disk.given;
    if (!disk.lasting) disk.fault = DiskFault::none;
    return true;
}

void put_on(std::vector<char>& content, const PendingWrite& write) {
    if (write.truncation) {
        content.resize(write.at);
        return;
    }
    if (content.size() < write.at + write.bytes.size()) content.resize(write.at + write.bytes.size());
    std::ranges::copy(write.bytes, content.begin() + static_cast<std::ptrdiff_t>(write.at));
}

struct File {
    sqlite3_file base;
    char name[512];
    sqlite3_file real;  // of the real file system, as long as it needs
};

File* ours(sqlite3_file* file) { return reinterpret_cast<File*>(file); }
sqlite3_file* real(sqlite3_file* file) { return &ours(file)->real; }

bool kept(const sqlite3_file* file) { return reinterpret_cast<const File*>(file)->name[0] != '\0'; }

int close_file(sqlite3_file* file) { return real(file)->pMethods->xClose(real(file)); }
int read_file(sqlite3_file* file, void* target, int amount, sqlite3_int64 at) {
    if (due({DiskFault::read_error})) return SQLITE_IOERR_READ;
    return real(file)->pMethods->xRead(real(file), target, amount, at);
}
int write_file(sqlite3_file* file, const void* source, int amount, sqlite3_int64 at) {
    int written = amount;
    int result = SQLITE_OK;
    if (due({DiskFault::write_error, DiskFault::short_write, DiskFault::full})) {
        written = disk.fault == DiskFault::write_error ? 0 : amount / 2;
        result = disk.fault == DiskFault::full || !disk.lasting ? SQLITE_FULL : SQLITE_IOERR_WRITE;
    }
    if (written > 0) {
        if (kept(file)) {
            const auto* data = static_cast<const char*>(source);
            disk.files[ours(file)->name].pending.push_back({static_cast<std::size_t>(at), {data, data + written}, false});
        }
        const int real_result = real(file)->pMethods->xWrite(real(file), source, written, at);
        if (real_result != SQLITE_OK) return real_result;
    }
    return result;
}
int truncate_file(sqlite3_file* file, sqlite3_int64 size) {
    if (kept(file)) disk.files[ours(file)->name].pending.push_back({static_cast<std::size_t>(size), {}, true});
    return real(file)->pMethods->xTruncate(real(file), size);
}
int sync_file(sqlite3_file* file, int flags) {
    if (due({DiskFault::sync_error})) return SQLITE_IOERR_FSYNC;
    if (kept(file) && !disk.lose_syncs) {
        DiskFile& kept_file = disk.files[ours(file)->name];
        for (const PendingWrite& write : kept_file.pending) put_on(kept_file.synced, write);
        kept_file.pending.clear();
    }
    (void)flags;
    return SQLITE_OK;
}
int size_of(sqlite3_file* file, sqlite3_int64* size) { return real(file)->pMethods->xFileSize(real(file), size); }
int lock(sqlite3_file* file, int level) { return real(file)->pMethods->xLock(real(file), level); }
int unlock(sqlite3_file* file, int level) { return real(file)->pMethods->xUnlock(real(file), level); }
int check_lock(sqlite3_file* file, int* held) { return real(file)->pMethods->xCheckReservedLock(real(file), held); }
int control(sqlite3_file* file, int what, void* argument) { return real(file)->pMethods->xFileControl(real(file), what, argument); }
int sector(sqlite3_file* file) { return real(file)->pMethods->xSectorSize(real(file)); }
// No promise of the real device (atomic or safe appends) is passed on.
int traits(sqlite3_file*) { return 0; }
int map_shared(sqlite3_file* file, int region, int size, int extend, void volatile** memory) {
    return real(file)->pMethods->xShmMap(real(file), region, size, extend, memory);
}
int lock_shared(sqlite3_file* file, int offset, int count, int flags) {
    return real(file)->pMethods->xShmLock(real(file), offset, count, flags);
}
void barrier(sqlite3_file* file) { real(file)->pMethods->xShmBarrier(real(file)); }
int unmap_shared(sqlite3_file* file, int remove) { return real(file)->pMethods->xShmUnmap(real(file), remove); }

const sqlite3_io_methods methods = {2,         close_file, read_file,  write_file, truncate_file, sync_file,   size_of,
                                    lock,      unlock,     check_lock, control,    sector,        traits,      map_shared,
                                    lock_shared, barrier,  unmap_shared, nullptr,  nullptr};

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out_flags) {
    File* opened = ours(file);
    opened->base.pMethods = nullptr;
    opened->name[0] = '\0';
    const int kinds = SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL;
    if (name && (flags & kinds) != 0 && std::strlen(name) < sizeof opened->name) {
        std::strcpy(opened->name, name);
        DiskFile& kept_file = disk.files[name];
        std::ifstream in(name, std::ios::binary);
        if (kept_file.pending.empty())
            kept_file.synced.assign(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
    }
    const int result = disk.real->xOpen(disk.real, name, &opened->real, flags, out_flags);
    if (opened->real.pMethods) opened->base.pMethods = &methods;
    return result;
}
int delete_file(sqlite3_vfs*, const char* name, int sync) {
    disk.files.erase(name);
    return disk.real->xDelete(disk.real, name, sync);
}

sqlite3_vfs faulty;

}  // namespace

FaultyDisk::FaultyDisk() {
    disk = {};
    disk.real = sqlite3_vfs_find("unix");
    faulty = *disk.real;
    faulty.zName = "faulty";
    faulty.pNext = nullptr;
    faulty.szOsFile = static_cast<int>(sizeof(File)) + disk.real->szOsFile;
    faulty.xOpen = open_file;
    faulty.xDelete = delete_file;
    sqlite3_vfs_register(&faulty, 1);
}

FaultyDisk::~FaultyDisk() {
    sqlite3_vfs_unregister(&faulty);
    sqlite3_vfs_register(disk.real, 1);
}

void FaultyDisk::fail(DiskFault fault, int after, bool lasting) {
    disk.fault = fault;
    disk.countdown = after;
    disk.lasting = lasting;
}

void FaultyDisk::heal() { disk.fault = DiskFault::none; }
void FaultyDisk::lose_syncs(bool lose) { disk.lose_syncs = lose; }
int FaultyDisk::faults_given() const { return disk.given; }

void FaultyDisk::cut_power(const std::filesystem::path& from, const std::filesystem::path& to, std::mt19937& random) const {
    constexpr std::size_t sector_bytes = 512;
    for (const auto& [name, file] : disk.files) {
        const std::filesystem::path path = name;
        if (path.parent_path() != from) continue;
        std::vector<char> content = file.synced;
        for (PendingWrite write : file.pending) {
            const auto chance = random() % 3;
            if (chance == 0) continue;
            if (chance == 1 && !write.truncation) write.bytes.resize(std::min(write.bytes.size(), sector_bytes * (random() % 9)));
            put_on(content, write);
        }
        std::ofstream out(to / path.filename(), std::ios::binary);
        out.write(content.data(), static_cast<std::streamsize>(content.size()));
    }
}

}  // namespace proofwalk::log
