namespace WashBridge.Historian.Storage;

/// <summary>
/// Makes this process the file's only writer. The operating system drops the lock when the process ends, however it ends,
/// so nothing is left behind to clean up.
/// </summary>
internal static class WriterLock
{
    public static FileStream Take(string path)
    {
        try
        {
            return new FileStream(path + "-lock", FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, bufferSize: 1);
        }
        catch (UnauthorizedAccessException e)
        {
            throw new HistorianException(HistorianFault.ReadOnly, path, "file or folder is not writable for this user", e);
        }
        catch (Exception e) when (e is DirectoryNotFoundException or PathTooLongException or FileNotFoundException)
        {
            throw new HistorianException(HistorianFault.Unavailable, path, "the folder does not exist", e);
        }
        catch (IOException e)
        {
            throw new HistorianException(HistorianFault.InUse, path, $"another historian is writing to this file (it holds '{path}-lock'); stop it first, or open a reader", e);
        }
    }
}
