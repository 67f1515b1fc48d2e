using School.Web.Platform.Access;

namespace School.Web.Modules.People.Operations;

/// <summary><c>School.Web add-office EMAIL NAME</c>: invites somebody of the office and prints the link, for the first one who cannot be invited on a page.</summary>
internal static class AddOfficeCommand
{
    /// <param name="services">The built service.</param>
    /// <param name="args">What stands after the command's word.</param>
    public static async Task<int> RunAsync(IServiceProvider services, string[] args)
    {
        if (args is not [var email, .. { Length: > 0 } name])
        {
            await Console.Error.WriteLineAsync("usage: School.Web add-office EMAIL NAME");
            return 2;
        }

        await using var scope = services.CreateAsyncScope();
        var invited = await scope.ServiceProvider.GetRequiredService<InvitePerson>()
            .RunAsync(Viewer.Service, new(string.Join(' ', name), email, OfficeParts.All), CancellationToken.None);
        if (!invited.Ok)
        {
            await Console.Error.WriteLineAsync(invited.Refusal.For(Viewer.Service));
            return 1;
        }

        Console.WriteLine($"{invited.Value.Person.Name} chooses a password here, within seven days:");
        Console.WriteLine(invited.Value.Link);
        return 0;
    }
}
