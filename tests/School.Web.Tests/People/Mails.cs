using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using School.Web.Modules.Messages;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Web.Tests.People;

/// <summary>Reads the mails that were written, as their recipient would.</summary>
internal static partial class Mails
{
    public static async Task<IReadOnlyList<Said>> OfAsync(SchoolHost host, string address, string kind) =>
        await host.SaidAsync(all => all.Where(m => m.ToAddress == address && m.Kind == kind).OrderBy(m => m.Id));

    /// <summary>Does what the job does that answers whoever forgot their password.</summary>
    public static async Task WriteResetLettersAsync(SchoolHost host)
    {
        await using var scope = host.Services.CreateAsyncScope();
        await scope.ServiceProvider.GetRequiredService<WriteResetLetters>().RunAsync(CancellationToken.None);
    }

    /// <summary>Path and query of the newest mail's only link.</summary>
    public static async Task<string> LinkAsync(SchoolHost host, string address, string kind)
    {
        var mail = (await OfAsync(host, address, kind))[^1];
        var link = Link().Match(mail.Text);
        Assert.True(link.Success, mail.Text);
        return link.Groups[1].Value;
    }

    [GeneratedRegex(@"https://localhost(/\S+)")]
    private static partial Regex Link();
}
