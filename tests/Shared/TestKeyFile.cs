namespace School.Tests;

/// <summary>The key file of every service that a test starts, also in a process of its own.</summary>
public static class TestKeyFile
{
    private const string Key = "4c61726b6669656c642044726976696e67205363686f6f6c2c20696e76656e74";
    private static readonly Lazy<string> Made = new(() => Make(Key));

    public static string Path => Made.Value;

    /// <summary>Another one, in the folder of temporary files.</summary>
    public static string Make(string content)
    {
        var file = System.IO.Path.Combine(System.IO.Path.GetTempPath(), $"school-test-{Guid.NewGuid():N}.key");
        File.WriteAllText(file, content + "\n");
        AppDomain.CurrentDomain.ProcessExit += (_, _) => File.Delete(file);
        return file;
    }
}
