using School.Web.Demo.Scale;
using School.Web.Platform;
using School.Web.Tests.Host;
using Xunit;

namespace School.Web.Tests.Demo.Scale;

public sealed class ScaleFolderTests : IDisposable
{
    private static readonly ScaleSize Size = new(2000);
    private readonly string _folder = Directory.CreateTempSubdirectory("school-scale-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void An_empty_or_new_folder_is_taken_and_taken_again()
    {
        foreach (var folder in (string[])[_folder, Path.Combine(_folder, "new")])
        {
            ScaleFolder.Take(folder, Size);
            ScaleFolder.Take(folder, Size);
        }
    }

    [Fact]
    public void A_folder_of_another_size_is_refused()
    {
        ScaleFolder.Take(_folder, new(500));
        var refused = Assert.Throws<CannotStartException>(() => ScaleFolder.Take(_folder, Size));
        Assert.Contains("holds a made-up school of 500 lessons, not of 2000", refused.Message, StringComparison.Ordinal);
        ScaleFolder.Take(_folder, new(500));
    }

    [Fact]
    public async Task The_folder_of_a_school_is_refused_by_the_command_and_left_as_it_was()
    {
        Directory.CreateDirectory(Path.Combine(_folder, "postgres"));
        await File.WriteAllTextAsync(Path.Combine(_folder, "postgres.password"), "theirs", TestContext.Current.CancellationToken);
        var before = Entries();
        var (exitCode, said) = await SchoolCommand.RunAsync(new Dictionary<string, string>(), "demo", "--scale", "2000", "--data", _folder);
        Assert.Equal(1, exitCode);
        Assert.Equal($"{_folder} is not empty and was not made by demo --scale: it may be a school’s, or the ordinary demo’s. Nothing in it was touched. Name an empty or new folder with --data.", said.Trim());
        Assert.Equal(before, Entries());
        Assert.Equal("theirs", await File.ReadAllTextAsync(Path.Combine(_folder, "postgres.password"), TestContext.Current.CancellationToken));
    }

    private string[] Entries() => [.. Directory.EnumerateFileSystemEntries(_folder, "*", SearchOption.AllDirectories).Order(StringComparer.Ordinal)];
}
