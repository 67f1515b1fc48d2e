using School.Web.Platform.Access;

namespace School.Web.Modules.People.Operations;

/// <summary><c>School.Web add-office EMAIL NAME</c>: invites somebody of the office and prints the link, for the first one who cannot be invited on a page.</summary>
internal static class AddOfficeCommand
{
    public const string Word = "add-office";

    public static async Task<int> RunAsync(IServiceProvider services, string[] args)
    {
        if (args is not [Word, var email, .. { Length: > 0 } name])
        {
            await Console.Error.WriteLineAsync($"usage: School.Web {Word} EMAIL NAME");
            return 2;
        }

        await using var scope = services.CreateAsyncScope();
        scope.ServiceProvider.GetRequiredService<ViewerOverride>().Viewer = Viewer.Service;
        var invited = await scope.ServiceProvider.GetRequiredService<InvitePerson>()
            .RunAsync(new(string.Join(' ', name), email, Role.Office), CancellationToken.None);
        if (!invited.Ok)
        {
            await Console.Error.WriteLineAsync(invited.Refusal.Sentence);
            return 1;
        }

        Console.WriteLine($"{invited.Value.Person.Name} chooses a password here, within seven days:");
        Console.WriteLine(invited.Value.Link);
        return 0;
    }
}
