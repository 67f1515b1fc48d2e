using System.IO.Compression;
using System.Text;
using School.Core.Travel;

namespace School.Web.Modules.Places.Postcodes;

/// <summary>A line of a postcode file: where it stands and what it says.</summary>
/// <param name="File">The name of the CSV file.</param>
/// <param name="Number">From 1.</param>
/// <param name="Text">Without its line end; empty where <paramref name="Fault"/> is told.</param>
/// <param name="Fault">Why no line can be read from here on; else null.</param>
internal readonly record struct PostcodeLine(string File, int Number, string Text, string? Fault = null);

/// <summary>A postcode file on disk: a zip of CSV files as it is published, or one of them. Read line by line, as often as wanted.</summary>
/// <param name="path">Where it lies.</param>
/// <param name="name">What people call it.</param>
internal sealed class PostcodeFile(string path, string name)
{
    public const long LargestUpload = 200L << 20;

    /// <summary>Bytes of CSV that are read at most, unpacked: about six times what is published.</summary>
    public const long LargestUnpacked = 1L << 30;

    private const string FolderOfData = "Data/CSV/";
    private const int Buffer = 1 << 16;

    public string Name => name;

    /// <summary>What keeps the file from being looked at at all; null when nothing does.</summary>
    public string? Unreadable()
    {
        try
        {
            using var stream = Open();
            if (stream.Length == 0)
            {
                return "The file is empty.";
            }

            if (!IsZip(stream))
            {
                return stream.Length > LargestUnpacked ? TooLarge(stream.Length) : null;
            }

            using var zip = new ZipArchive(stream, ZipArchiveMode.Read);
            var files = Files(zip);
            var size = files.Sum(file => file.Length);
            return files.Count == 0 ? "There is no CSV file in this zip file." : size > LargestUnpacked ? TooLarge(size) : null;
        }
        catch (InvalidDataException)
        {
            return "The zip file is cut off or damaged. Fetch it again.";
        }
        catch (Exception exception) when (exception is IOException or UnauthorizedAccessException)
        {
            return $"The file cannot be opened: {exception.Message}";
        }
    }

    /// <summary>All lines of all CSV files, in order.</summary>
    public IEnumerable<PostcodeLine> Lines()
    {
        using var stream = Open();
        if (!IsZip(stream))
        {
            foreach (var line in LinesOf(Path.GetFileName(name), stream))
            {
                yield return line;
            }

            yield break;
        }

        using var zip = new ZipArchive(stream, ZipArchiveMode.Read);
        foreach (var file in Files(zip))
        {
            using var unpacked = file.Open();
            foreach (var line in LinesOf(file.Name, unpacked))
            {
                yield return line;
            }
        }
    }

    // Beside the data the published zip holds a file of the columns' names.
    private static List<ZipArchiveEntry> Files(ZipArchive zip)
    {
        var csv = zip.Entries.Where(entry => entry.Name.EndsWith(".csv", StringComparison.OrdinalIgnoreCase)).ToList();
        var data = csv.Where(entry => entry.FullName.Contains(FolderOfData, StringComparison.OrdinalIgnoreCase)).ToList();
        return data.Count > 0 ? data : csv.Where(entry => !entry.Name.Contains("Column_Headers", StringComparison.OrdinalIgnoreCase)).ToList();
    }

    private static IEnumerable<PostcodeLine> LinesOf(string file, Stream stream)
    {
        using var reader = new StreamReader(stream, Encoding.UTF8, true, Buffer);
        var line = new StringBuilder();
        var (chars, filled, at, number) = (new char[Buffer], 0, 0, 1);
        while (true)
        {
            if (at == filled)
            {
                (filled, at) = (Read(reader, chars, out var fault), 0);
                if (fault is not null)
                {
                    yield return new(file, number, "", fault);
                    yield break;
                }

                if (filled == 0)
                {
                    break;
                }
            }

            var end = Array.IndexOf(chars, '\n', at, filled - at);
            var part = (end < 0 ? filled : end) - at;
            if (line.Length + part > CodePoint.LongestLine)
            {
                yield return new(file, number, "", $"a line of more than {CodePoint.LongestLine} characters. This is no postcode file.");
                yield break;
            }

            line.Append(chars, at, part);
            at += part;
            if (end >= 0)
            {
                yield return new(file, number++, Taken(line));
                at++;
            }
        }

        if (line.Length > 0)
        {
            yield return new(file, number, Taken(line));
        }
    }

    private static int Read(StreamReader reader, char[] into, out string? fault)
    {
        try
        {
            fault = null;
            return reader.Read(into);
        }
        catch (InvalidDataException)
        {
            fault = "the zip file is cut off or damaged here. Fetch it again.";
            return 0;
        }
    }

    private static string Taken(StringBuilder line)
    {
        var text = line.Length > 0 && line[^1] == '\r' ? line.ToString(0, line.Length - 1) : line.ToString();
        line.Clear();
        return text;
    }

    private static bool IsZip(FileStream stream)
    {
        Span<byte> first = stackalloc byte[2];
        var read = stream.ReadAtLeast(first, 2, throwOnEndOfStream: false);
        stream.Position = 0;
        return read == 2 && first.SequenceEqual("PK"u8);
    }

    private static string TooLarge(long bytes) =>
        $"The file holds {bytes >> 20:N0} MB of text, and a postcode file of Great Britain about 150. At most {LargestUnpacked >> 20:N0} MB are read.";

    private FileStream Open() => new(path, FileMode.Open, FileAccess.Read, FileShare.Read, Buffer, FileOptions.SequentialScan);
}
