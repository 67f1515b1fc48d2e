using System.Net;
using System.Text.Json;
using School.Web.Tests.Diary;

namespace School.Web.Tests.Accounts;

/// <summary>Opens books, and reads what they come to.</summary>
internal static class Books
{
    /// <summary>An hour costs £36; late and missed lessons all of it, none let pass, with or without a reminder.</summary>
    public static async Task OpenBooksAsync(this HttpClient office, long pence = 36_00, int late = 100, int missed = 100, int free = 0, bool needsReminder = false, string? vatFrom = null) =>
        await (await office.SendJsonAsync(HttpMethod.Post, "/api/v1/books", new
        {
            pencePerHour = pence,
            latePercent = late,
            missedPercent = missed,
            lateMovePercent = late,
            freeAYear = free,
            needsReminder,
            vatFrom,
        })).JsonAsync(HttpStatusCode.Created);

    /// <summary>Writes terms that name fees, and has a pupil accept them.</summary>
    public static async Task AgreeTermsAsync(this HttpClient office, HttpClient pupil, Guid pupilId)
    {
        var terms = await (await office.SendJsonAsync(HttpMethod.Post, "/api/v1/terms", new { text = "Late lessons are charged.", namesFees = true })).JsonAsync(HttpStatusCode.Created);
        await (await pupil.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{pupilId}/terms", new { number = terms.GetProperty("number").GetInt32() })).JsonAsync();
    }

    public static async Task<Guid> SellAsync(this HttpClient api, Guid pupil, int minutes, long pence, bool askedToBegin = true) =>
        (await (await api.SendJsonAsync(HttpMethod.Post, $"/api/v1/pupils/{pupil}/blocks", new { minutes, pence, askedToBegin })).JsonAsync(HttpStatusCode.Created)).GetProperty("id").GetGuid();

    public static Task<HttpResponseMessage> PayAsync(this HttpClient api, Guid pupilId, long pence, string method = "cash", bool back = false, bool again = false, string? paidOn = null) =>
        api.SendJsonAsync(HttpMethod.Post, "/api/v1/payments", new { pupilId, pence, method, back, again, paidOn });

    public static Task<JsonElement> AccountAsync(this HttpClient api, Guid pupil) => api.GetJsonAsync($"/api/v1/pupils/{pupil}/account");

    /// <summary>What is owed, and prepaid minutes left.</summary>
    public static async Task<(long Owed, int Minutes)> StandingAsync(this HttpClient api, Guid pupil)
    {
        var account = await api.AccountAsync(pupil);
        return (account.GetProperty("owedPence").GetInt64(), account.GetProperty("minutesLeft").GetInt32());
    }

    /// <summary>Each account that is not at nought: debits positive.</summary>
    public static async Task<Dictionary<string, long>> BalancesAsync(this HttpClient office)
    {
        var balance = await office.GetJsonAsync("/api/v1/reports/trial-balance");
        Assert.Equal(0, balance.GetProperty("differencePence").GetInt64());
        return balance.GetProperty("accounts").EnumerateArray()
            .Select(line => (Code: line.GetProperty("code").GetString()!, Pence: line.GetProperty("debitPence").GetInt64() - line.GetProperty("creditPence").GetInt64()))
            .Where(line => line.Pence != 0).ToDictionary(line => line.Code, line => line.Pence);
    }
}
