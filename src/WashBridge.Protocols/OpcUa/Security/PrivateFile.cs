namespace WashBridge.Protocols.OpcUa.Security;

/// <summary>Files that only their owner may read, written so that a crash leaves the whole file or none.</summary>
internal static class PrivateFile
{
    private const UnixFileMode OwnerFile = UnixFileMode.UserRead | UnixFileMode.UserWrite;
    private const UnixFileMode OwnerFolder = OwnerFile | UnixFileMode.UserExecute;
    private const UnixFileMode Others = (UnixFileMode)0b111_111;

    /// <summary>Makes the folder with mode 0700. One that exists keeps its mode; <see cref="Problem"/> tells what is wrong with it.</summary>
    public static void CreateFolder(string path)
    {
        if (OperatingSystem.IsWindows())
        {
            // The access list of the folder above is inherited.
            Directory.CreateDirectory(path);
            return;
        }

        Directory.CreateDirectory(path, OwnerFolder);
    }

    /// <summary>Why a file or folder is not private, with the command that mends it; null if it is. On Windows nothing is checked.</summary>
    public static string? Problem(string path)
    {
        if (OperatingSystem.IsWindows())
        {
            return null;
        }

        var mode = File.GetUnixFileMode(path);
        var allowed = Directory.Exists(path) ? OwnerFolder : OwnerFile;
        return (mode & Others) == 0
            ? null
            : $"{path} is open to others than its owner: mode {Octal(mode)}, allowed {Octal(allowed)}. Run: chmod {Octal(allowed)} '{path}'";
    }

    /// <summary>Writes beside the place and moves into it. Anybody may read it if <paramref name="isPrivate"/> is false.</summary>
    /// <returns>False, and nothing is changed, if there is a file already.</returns>
    public static bool TryCreate(string path, ReadOnlySpan<byte> content, bool isPrivate)
    {
        var folder = Path.GetDirectoryName(path)!;
        var beside = Path.Combine(folder, "." + Path.GetRandomFileName());
        try
        {
            var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
            if (isPrivate && !OperatingSystem.IsWindows())
            {
                options.UnixCreateMode = OwnerFile;
            }

            using (var stream = new FileStream(beside, options))
            {
                stream.Write(content);
                stream.Flush(flushToDisk: true);
            }

            File.Move(beside, path, overwrite: false);
            return true;
        }
        catch (IOException) when (File.Exists(path))
        {
            return false;
        }
        finally
        {
            File.Delete(beside);
        }
    }

    private static string Octal(UnixFileMode mode) => Convert.ToString((int)mode, 8).PadLeft(4, '0');
}
