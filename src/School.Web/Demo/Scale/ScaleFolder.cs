using System.Globalization;
using School.Web.Platform;

namespace School.Web.Demo.Scale;

/// <summary>The data folder of a school that was made up to a size, and the file in it that says so.</summary>
internal static class ScaleFolder
{
    private const string Mark = "scale-lessons";
    private const string Draft = Mark + ".new";

    /// <summary>
    /// Takes an empty folder, or one that an earlier run with the same number took. Before anything is started in it, so that whatever
    /// else lives there is left alone.
    /// </summary>
    /// <exception cref="CannotStartException">It is somebody else's.</exception>
    public static void Take(string folder, ScaleSize size)
    {
        folder = Path.GetFullPath(folder);
        var (mark, draft, lessons) = (Path.Combine(folder, Mark), Path.Combine(folder, Draft), size.Lessons.ToString(CultureInfo.InvariantCulture));
        if (File.Exists(mark))
        {
            var made = File.ReadAllText(mark).Trim();
            if (made != lessons)
            {
                throw new CannotStartException($"{folder} holds a made-up school of {made} lessons, not of {lessons}. Name another folder with --data, or the same number.");
            }

            return;
        }

        if (Directory.Exists(folder) && Directory.EnumerateFileSystemEntries(folder).Any(entry => entry != draft))
        {
            throw new CannotStartException(
                $"{folder} is not empty and was not made by demo --scale: it may be a school’s, or the ordinary demo’s. Nothing in it was touched. Name an empty or new folder with --data.");
        }

        Directory.CreateDirectory(folder);
        // Whole or not at all.
        File.WriteAllText(draft, lessons);
        File.Move(draft, mark, overwrite: true);
    }
}
