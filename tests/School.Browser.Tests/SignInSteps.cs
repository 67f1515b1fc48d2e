using System.Text.RegularExpressions;
using School.Web.Modules.People;
using School.Web.Tests.Host;

namespace School.Browser.Tests;

internal static partial class SignInSteps
{
    /// <summary>Signs in with the form of the sign-in page but without walking over it, where a walk is about something else.</summary>
    public static async Task SignInAsync(this Walk walk, Person person)
    {
        var request = walk.Page.Context.APIRequest;
        var page = await (await request.GetAsync("/people/sign-in")).TextAsync();
        var form = request.CreateFormData();
        form.Set("Input.Email", person.Email!);
        form.Set("Input.Password", SchoolHost.Password);
        form.Set("__RequestVerificationToken", Token().Match(page).Groups[1].Value);
        var answer = await request.PostAsync("/people/sign-in", new() { Form = form, MaxRedirects = 0 });
        Assert.True(answer.Status == 302, await answer.TextAsync());
    }

    [GeneratedRegex("name=\"__RequestVerificationToken\" type=\"hidden\" value=\"([^\"]+)\"")]
    private static partial Regex Token();
}
