namespace WashBridge.Historian;

/// <summary>What is wrong, as far as it matters for what the caller does next.</summary>
public enum HistorianFault
{
    /// <summary>The disk, or the file's permitted size, is full: nothing was stored; free space and try again.</summary>
    Full = 0,

    /// <summary>File or folder cannot be written.</summary>
    ReadOnly = 1,

    /// <summary>Another process holds a lock on the file for longer than allowed; try again.</summary>
    Locked = 2,

    /// <summary>Another historian writes to this file: there is one writer a file.</summary>
    InUse = 3,

    /// <summary>File or folder does not exist or cannot be opened.</summary>
    Unavailable = 4,

    /// <summary>The file is not a historian's.</summary>
    NotAHistorian = 5,

    /// <summary>The file was written by a newer version.</summary>
    NewerVersion = 6,

    /// <summary>The file was written by an older version and must be opened for writing once, to be migrated.</summary>
    OlderVersion = 7,

    /// <summary>The file's structure is damaged beyond what reading can skip.</summary>
    Damaged = 8,

    /// <summary>The disk failed.</summary>
    Disk = 9,
}

/// <summary>The historian could not do what was asked. Nothing of a failed append is stored.</summary>
public sealed class HistorianException : IOException
{
    internal HistorianException(HistorianFault fault, string path, string problem, Exception? inner = null)
        : base($"historian '{path}': {problem}", inner)
    {
        Fault = fault;
        Path = path;
    }

    public HistorianFault Fault { get; }

    /// <summary>The historian's file.</summary>
    public string Path { get; }

    /// <summary>The same call may succeed later without anybody changing the configuration or the file.</summary>
    public bool IsTransient => Fault is HistorianFault.Full or HistorianFault.Locked;
}
