using School.Web.Platform.Access;

namespace School.Web.Modules.Places.Postcodes;

/// <summary><c>School.Web postcodes PATH</c>: loads the postcodes of Great Britain from the open file, a zip or one CSV file.</summary>
internal static class PostcodesCommand
{
    /// <param name="services">The built service.</param>
    /// <param name="args">What stands after the command's word.</param>
    public static async Task<int> RunAsync(IServiceProvider services, string[] args)
    {
        if (args is not [{ Length: > 0 } path])
        {
            await Console.Error.WriteLineAsync("usage: School.Web postcodes PATH");
            return 2;
        }

        await using var scope = services.CreateAsyncScope();
        var loaded = await scope.ServiceProvider.GetRequiredService<LoadPostcodes>()
            .RunAsync(Viewer.Service, new(new(path, Path.GetFileName(path)), Console.WriteLine), CancellationToken.None);
        if (!loaded.Ok)
        {
            await Console.Error.WriteLineAsync(loaded.Refusal.For(Viewer.Service));
            return 1;
        }

        Console.WriteLine(PostcodeWords.Loaded(loaded.Value));
        return 0;
    }
}
