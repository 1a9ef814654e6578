namespace WashBridge.Pipeline;

/// <summary>The historian's file and the disk that it lies on.</summary>
/// <param name="Bytes">Size of the file, with what is still in its write-ahead log.</param>
/// <param name="Free">Bytes that the service's user may still fill; null: the system does not tell.</param>
/// <param name="Disk">Bytes of the whole disk; null: the system does not tell.</param>
internal readonly record struct StoreSpace(long Bytes, long? Free, long? Disk)
{
    public static StoreSpace Of(string path)
    {
        var bytes = ((string[])[path, path + "-wal"]).Select(p => new FileInfo(p)).Where(f => f.Exists).Sum(f => f.Length);
        try
        {
            var folder = Path.GetDirectoryName(Path.GetFullPath(path))!;
            var disk = new DriveInfo(OperatingSystem.IsWindows() ? Path.GetPathRoot(folder)! : folder);
            return new StoreSpace(bytes, disk.AvailableFreeSpace, disk.TotalSize);
        }
        catch (Exception untold) when (untold is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return new StoreSpace(bytes, null, null);
        }
    }
}
