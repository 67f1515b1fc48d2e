namespace School.Web.Tests.Host;

/// <summary>The source that these tests were built from.</summary>
internal static class Sources
{
    /// <summary>The folder of the solution.</summary>
    public static string Root { get; } = FindRoot();

    /// <summary>Code and pages of the two production projects: path from the root, text.</summary>
    public static IEnumerable<(string Path, string Text)> Production() => Under("src");

    /// <summary>All code and pages, the tests' own among them.</summary>
    public static IEnumerable<(string Path, string Text)> All() => Under("src").Concat(Under("tests"));

    private static IEnumerable<(string Path, string Text)> Under(string folder) =>
        from file in new DirectoryInfo(Path.Combine(Root, folder)).EnumerateFiles("*.cs*", SearchOption.AllDirectories)
        where file.Extension is ".cs" or ".cshtml"
        let path = Path.GetRelativePath(Root, file.FullName).Replace('\\', '/')
        where !path.Split('/').Any(part => part is "obj" or "bin" or "node_modules")
        orderby path
        select (path, File.ReadAllText(file.FullName));

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "School.sln")))
        {
            folder = folder.Parent;
        }

        return folder?.FullName ?? throw new InvalidOperationException("School.sln is not above the tests");
    }
}
