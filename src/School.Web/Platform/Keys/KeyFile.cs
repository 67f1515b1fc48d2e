using System.Security.Cryptography;
using System.Text;
using School.Web.Platform.LocalPostgres;

namespace School.Web.Platform.Keys;

/// <summary>The service's keys cannot be used on this node; the message says why and what to do.</summary>
internal sealed class KeysLockedException(string message) : Exception(message);

/// <summary>
/// The file with the key that wraps the keys in the database: outside the database and every backup, the same on every node. With a
/// private database the service makes it itself, in the data folder; elsewhere the setting School:KeyFile names it. It holds 64
/// hexadecimal digits. More lines are older keys: they still open what they wrapped, until that is wrapped with the first.
/// </summary>
internal sealed class KeyFile
{
    public const string Setting = "School:KeyFile";
    private const string Name = "school.key";
    private const string HowToMake = "Make one with: openssl rand -hex 32";

    public KeyFile(IConfiguration configuration, IHostEnvironment host)
    {
        var named = configuration[Setting] is { Length: > 0 } set ? System.IO.Path.Combine(host.ContentRootPath, set) : null;
        MayMake = named is null && LocalPostgresSetup.IsPrivate(configuration);
        Path = named ?? (MayMake ? System.IO.Path.Combine(LocalPostgresSetup.DataFolder(configuration, host), Name) : null);
    }

    private KeyFile(string path) => Path = path;

    /// <summary>A file that somebody names for one command.</summary>
    public static KeyFile At(string path) => new(path);

    /// <summary>Null where nobody named one and the database is not our own.</summary>
    public string? Path { get; }

    /// <summary>Whether the service makes the file where it is missing.</summary>
    public bool MayMake { get; }

    /// <summary>The first wraps, every one opens; none where there is no file to read yet.</summary>
    /// <exception cref="KeysLockedException">The file that was named is not there, cannot be read, or holds something else.</exception>
    public IReadOnlyList<OuterKey> Read()
    {
        if (Path is null || (MayMake && !File.Exists(Path)))
        {
            return [];
        }

        string[] lines;
        try
        {
            lines = File.ReadAllLines(Path);
        }
        catch (Exception problem) when (problem is IOException or UnauthorizedAccessException)
        {
            throw new KeysLockedException($"The key file {Path} cannot be read: {problem.Message}");
        }

        List<OuterKey> keys = [.. lines.Select(l => l.Trim()).Where(l => l.Length > 0).Select(Parse)];
        return keys.Count > 0 ? keys : throw new KeysLockedException($"The key file {Path} is empty. {HowToMake}");
    }

    /// <summary>Makes the file with a new key, for its owner alone, on the disk before it is used.</summary>
    public OuterKey Make()
    {
        var key = RandomNumberGenerator.GetBytes(AesBox.KeyOctets);
        var draft = Path + ".part";
        File.Delete(draft);
        using (var stream = new FileStream(draft, OwnersOnly()))
        {
            stream.Write(Encoding.ASCII.GetBytes(Convert.ToHexStringLower(key) + "\n"));
            stream.Flush(flushToDisk: true);
        }

        // Never over a file that somebody put there meanwhile: what it wrapped would be lost.
        File.Move(draft, Path!, overwrite: false);
        return new(key);
    }

    private OuterKey Parse(string line) =>
        line.Length == 2 * AesBox.KeyOctets && line.All(char.IsAsciiHexDigit)
            ? new(Convert.FromHexString(line))
            : throw new KeysLockedException($"The key file {Path} does not hold a key: a line is to have 64 hexadecimal digits. {HowToMake}");

    private static FileStreamOptions OwnersOnly()
    {
        var options = new FileStreamOptions { Mode = FileMode.CreateNew, Access = FileAccess.Write };
        if (!OperatingSystem.IsWindows())
        {
            options.UnixCreateMode = UnixFileMode.UserRead | UnixFileMode.UserWrite;
        }

        return options;
    }
}
